import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type CauerElement, cauerFromFoster, fosterFromCauer } from '../../src/response/cauer.ts';
import { stepResponse } from '../../src/response/foster.ts';
import { ladderResponse } from '../../src/response/ladder-response.ts';
import { timeToLimit } from '../../src/response/time-to-limit.ts';

const rungs: CauerElement[] = [
  { resistance_K_per_W: 0.05, capacity_J_per_K: 100 },
  { resistance_K_per_W: 0.08, capacity_J_per_K: 400 },
  { resistance_K_per_W: 0.1, capacity_J_per_K: 4000 },
];

/**
 * Surface of a slab of unit thickness, conductivity and diffusivity, heated by unit flux from t = 0, the far face held
 * at zero. Source: Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, section 3.8 (cited from memory):
 * 1 − (8/π²) Σ exp(−(2n+1)² π² t/4)/(2n+1)².
 */
function slab(t: number): number {
  let sum = 0;
  for (let n = 0; n < 400; n++) {
    const m = (2 * n + 1) ** 2;
    sum += Math.exp((-m * Math.PI ** 2 * t) / 4) / m;
  }
  return 1 - (8 / Math.PI ** 2) * sum;
}

/** The slab cut into equal cells, capacities in the middle of each, the first half cell at the surface. */
function slabLadder(cells: number): CauerElement[] {
  return Array.from({ length: cells }, (_, i) => ({
    resistance_K_per_W: 1 / cells,
    capacity_J_per_K: (i === 0 ? 0.5 : 1) / cells,
  }));
}

describe('ladders against the slab of Carslaw and Jaeger', () => {
  const times = [0.05, 0.1, 0.2, 0.4, 0.8, 1.6];
  const worst = (cells: number) => {
    const foster = fosterFromCauer(slabLadder(cells));
    return Math.max(...times.map((t) => Math.abs(stepResponse(foster, t) - slab(t))));
  };

  it('approach it with the square of the number of cells', () => {
    const errors = [5, 10, 20, 40].map(worst);
    for (let i = 1; i < errors.length; i++) expect(errors[i - 1] / errors[i]).toBeCloseTo(4, 0);
    expect(errors[3]).toBeLessThan(3e-4);
  });

  it('have the slab’s slowest time constant 4/π²', () => {
    expect(fosterFromCauer(slabLadder(60)).at(-1)!.time_s).toBeCloseTo(4 / Math.PI ** 2, 4);
  });
});

describe('Foster and Cauer forms', () => {
  it('convert exactly: two elements worked with symbols', () => {
    // 1/(1+s) + 1/(1+2s) = (2+3s)/(1+3s+2s²); divided out by hand: 1/(s·2/3 + 1/(9/5 + 1/(s·25/3 + 1/(1/5)))).
    const two = cauerFromFoster([
      { resistance_K_per_W: 1, time_s: 2 },
      { resistance_K_per_W: 1, time_s: 1 },
    ]);
    expect(two).toEqual([
      { resistance_K_per_W: 9 / 5, capacity_J_per_K: 2 / 3 },
      { resistance_K_per_W: 1 / 5, capacity_J_per_K: 25 / 3 },
    ]);
  });

  it('convert exactly: the golden ladder', () => {
    // Unit ladder of two rungs: Z = 1/(s + 1/(1 + 1/(s + 1))) = (s+2)/(s²+3s+1), poles −(3 ± √5)/2, so the time
    // constants are the squares of the golden section and of its inverse.
    const golden = (1 + Math.sqrt(5)) / 2;
    const foster = fosterFromCauer([
      { resistance_K_per_W: 1, capacity_J_per_K: 1 },
      { resistance_K_per_W: 1, capacity_J_per_K: 1 },
    ]);
    expect(foster[0].time_s).toBeCloseTo(golden ** -2, 14);
    expect(foster[1].time_s).toBeCloseTo(golden ** 2, 14);
    // Residue of (s+2)/(s²+3s+1) at −1/τ, times τ.
    for (const { resistance_K_per_W, time_s } of foster) {
      expect(resistance_K_per_W).toBeCloseTo((time_s * (2 - 1 / time_s)) / (3 - 2 / time_s), 13);
    }
  });

  it('come back from the round trip to 1e-9, up to six elements', () => {
    const element = fc.tuple(
      fc.double({ min: 0.001, max: 2, noNaN: true }),
      fc.double({ min: 1.3, max: 30, noNaN: true }),
    );
    fc.assert(
      fc.property(
        fc.array(element, { minLength: 1, maxLength: 6 }),
        fc.double({ min: 0.01, max: 10, noNaN: true }),
        (parts, first) => {
          let time = first;
          const foster = parts.map(([resistance_K_per_W, factor]) => {
            time *= factor;
            return { resistance_K_per_W, time_s: time };
          });
          const back = fosterFromCauer(cauerFromFoster(foster));
          foster.forEach((before, i) => {
            expect(Math.abs(back[i].time_s / before.time_s - 1)).toBeLessThan(1e-9);
            expect(Math.abs(back[i].resistance_K_per_W / before.resistance_K_per_W - 1)).toBeLessThan(1e-9);
          });
        },
      ),
      { numRuns: 300, seed: 3 },
    );
  });

  it('join equal time constants and refuse what is not positive', () => {
    const joined = cauerFromFoster([
      { resistance_K_per_W: 1, time_s: 5 },
      { resistance_K_per_W: 2, time_s: 5 },
    ]);
    expect(joined).toEqual([{ resistance_K_per_W: 3, capacity_J_per_K: 5 / 3 }]);
    expect(() => cauerFromFoster([{ resistance_K_per_W: -1, time_s: 5 }])).toThrow(/element 1 has -1 K\/W/);
    expect(() => fosterFromCauer([{ resistance_K_per_W: 1, capacity_J_per_K: 0 }])).toThrow(/rung 1/);
  });
});

describe('responses against an ODE solver', () => {
  // Reference figures: SciPy 1.10.1, solve_ivp DOP853, tolerances 1e-12; made by network-ode.py beside this file.
  const foster = fosterFromCauer(rungs);

  it('step', () => {
    const reference = [0.00907825779178, 0.0488722314704, 0.127499083575, 0.216511559697];
    [1, 10, 100, 1000].forEach((t, i) => {
      expect(stepResponse(foster, t)).toBeCloseTo(reference[i], 10);
    });
  });

  it('held loads with a change of the air side', () => {
    const slower = rungs.map((rung, i) => (i === 2 ? { ...rung, resistance_K_per_W: 0.17 } : rung));
    const segments = [
      { from_s: 0, power_W: 200, rungs },
      { from_s: 300, power_W: 200, rungs: slower },
      { from_s: 600, power_W: 50, rungs },
    ];
    const reference = [
      25.4998167148, 33.4298115855, 33.4575184689, 41.8086267921, 34.702764479, 19.0862130623,
    ];
    ladderResponse(segments, [100, 300, 301, 600, 610, 900]).forEach((rise, i) => {
      expect(rise).toBeCloseTo(reference[i], 8);
    });
  });
});

describe('what follows from a response', () => {
  const foster = fosterFromCauer(rungs);

  it('time to a limit', () => {
    expect(timeToLimit([{ resistance_K_per_W: 0.2, time_s: 100 }], 400, 40)).toBeCloseTo(100 * Math.LN2, 10);
    const time = timeToLimit(foster, 300, 60);
    expect(300 * stepResponse(foster, time)).toBeCloseTo(60, 10);
    expect(timeToLimit(foster, 100, 23.1)).toBe(Infinity);
    expect(timeToLimit(foster, 100, 0)).toBe(0);
  });
});
