import type { CompareResult } from '../../src/answers/compare.ts';
import type { FitResult } from '../../src/answers/fit.ts';
import type { PredictResult } from '../../src/answers/predict.ts';
import type { Crossing, LoadOrder, Pair } from '../../src/compare/comparison.ts';
import { normalCdf } from '../../src/numerics/distributions.ts';
import type { CoolerFit } from '../../src/predict/fit-result.ts';

/**
 * Results of the right shape for six invented coolers, made by hand-written curves rather than by the fit, so that what
 * prints them can be tried alone. Runs are taken to reach from 60 to 180 W.
 */
const COOLERS = [
  { name: 'Marsh Lantern', base: 0.172, start: 0.03, knee: 400, fan: 1500, sound: 33.1 },
  { name: 'Heron Twin', base: 0.168, start: 0.03, knee: 235, fan: 1850, sound: 38.4 },
  { name: 'Quiet Meadow', base: 0.181, start: 0.03, knee: 390, fan: 1200, sound: 30.2 },
  { name: 'Slate 240 loop', base: 0.16, start: 0.09, knee: 900, fan: 2000, sound: 41.0 },
  { name: 'Tall Reed', base: 0.197, start: 0.03, knee: 260, fan: 1600, sound: 34.9 },
  { name: 'Wren Low', base: 0.284, start: 0.03, knee: 205, fan: 2500, sound: 43.7 },
] as const;
const TESTED = [60, 180] as const;

const rise = (c: (typeof COOLERS)[number], P: number): number =>
  P * (c.base + c.start * Math.exp(-P / 60)) + (P > c.knee ? 0.0012 * (P - c.knee) ** 2 : 0);
const outside = (P: number): number => Math.max(0, TESTED[0] - P, P - TESTED[1]);
const half = (P: number): number => 0.25 + 0.006 * P + 0.00009 * outside(P) ** 2;
const halfOfPair = (P: number): number => 0.1 + 0.004 * P + 0.00004 * outside(P) ** 2;

export const EXAMPLE_NAMES: readonly string[] = COOLERS.map((c) => c.name);

export function examplePredict(loads: readonly number[] = [150, 220]): PredictResult {
  return {
    bench: 'Reed Lane bench',
    level: 0.95,
    predictions: COOLERS.flatMap((c) =>
      loads.map((P) => ({
        cooler: c.name,
        source: 'heater',
        power_W: P,
        fan_rpm: c.fan,
        sound_dBA: c.name === 'Wren Low' ? null : c.sound,
        rise_K: rise(c, P),
        mean_low_K: rise(c, P) - half(P),
        mean_high_K: rise(c, P) + half(P) * 1.1,
        run_low_K: rise(c, P) - half(P) * 1.6,
        run_high_K: rise(c, P) + half(P) * 1.7,
        extrapolated: outside(P) > 0,
        above_limit: false,
        notes: rise(c, P) > 68 ? ['above the heater’s limit of 90 °C in a room of 22 °C'] : [],
      })),
    ),
    warnings: [],
  };
}

function orderAt(P: number): LoadOrder {
  const sorted = [...COOLERS].sort((a, b) => rise(a, P) - rise(b, P));
  const tiers = sorted.map((): string[] => []);
  let letter = 0;
  let reached = -1;
  sorted.forEach((c, i) => {
    let end = i;
    while (end + 1 < sorted.length && rise(sorted[end + 1], P) - rise(c, P) < halfOfPair(P)) end++;
    if (end > reached) {
      for (let k = i; k <= end; k++) tiers[k].push(String.fromCharCode(97 + letter));
      letter++;
      reached = end;
    }
  });
  const chances = sorted.map((c) => Math.exp(-3 * ((rise(c, P) - rise(sorted[0], P)) / halfOfPair(P)) ** 2));
  const total = chances.reduce((s, x) => s + x, 0);
  return {
    power_W: P,
    order: sorted.map((c, i) => ({
      cooler: c.name,
      rise_K: rise(c, P),
      mean_low_K: rise(c, P) - half(P),
      mean_high_K: rise(c, P) + half(P) * 1.1,
      tiers: tiers[i],
      p_best: chances[i] / total,
      extrapolated: outside(P) > 0,
      within_reach: true,
      above_limit: false,
      notes: [],
    })),
    resolvable: [2, 3, 4, 6, 8].map((mounts) => ({
      mounts,
      difference_K: halfOfPair(P) * Math.sqrt(2 / mounts),
    })),
  };
}

export function exampleCompare(loads: readonly number[] = [50, 100, 150, 200, 250, 300]): CompareResult {
  const pairs: Pair[] = [];
  COOLERS.forEach((a, i) => {
    for (const b of COOLERS.slice(i + 1)) {
      const gap = (P: number): number => rise(a, P) - rise(b, P);
      const crossings: Crossing[] = [];
      const where = (offset: (P: number) => number): number[] => {
        const found: number[] = [];
        for (let P = 40; P < 400; P++) if (offset(P) * offset(P + 1) < 0) found.push(P + 0.5);
        return found;
      };
      for (const value of where(gap)) {
        const near = (list: number[]): number | undefined =>
          list.sort((x, y) => Math.abs(x - value) - Math.abs(y - value))[0];
        const falling = gap(value - 5) > 0;
        const sign = falling ? 1 : -1;
        const low = near(where((P) => gap(P) - sign * halfOfPair(P)).filter((x) => x < value));
        const high = near(where((P) => gap(P) + sign * halfOfPair(P)).filter((x) => x > value));
        crossings.push({
          value,
          low: low ?? value - 22,
          high: high ?? 400,
          extrapolated: outside(value) > 0,
          low_open: false,
          high_open: high === undefined,
          ahead_below: falling ? b.name : a.name,
          ahead_above: falling ? a.name : b.name,
        });
      }
      const resolved: Pair['resolved'] = [];
      let last: Pair['resolved'][number] | undefined;
      for (const P of loads) {
        const told = Math.abs(gap(P)) > halfOfPair(P);
        const better = gap(P) < 0 ? a.name : b.name;
        if (told && last?.better === better) last.to_W = P;
        else if (told) {
          last = { from_W: P, to_W: P, better };
          resolved.push(last);
        } else last = undefined;
      }
      pairs.push({
        a: a.name,
        b: b.name,
        resolved,
        crossings,
        difference: loads.map((P) => ({
          power_W: P,
          rise_K: gap(P),
          low_K: gap(P) - halfOfPair(P),
          high_K: gap(P) + halfOfPair(P),
          p_less: normalCdf((-1.96 * gap(P)) / halfOfPair(P)),
        })),
        verdict: `${a.name} and ${b.name}: made by hand for a test.`,
      });
    }
  });
  return {
    bench: 'Reed Lane bench',
    level: 0.95,
    pair_level: 0.99,
    source: 'heater',
    method: 'intervals of all pairs hold together',
    loads: loads.map(orderAt),
    pairs,
    warnings: [],
  };
}

export function exampleFit(): FitResult {
  const part = (value: number, assumed = false): FitResult['scatter']['reading_K'] => ({
    value,
    low: value / 2,
    high: value * 2.1,
    assumed,
  });
  return {
    bench: 'Reed Lane bench',
    coolers: COOLERS.map(
      (c, i): CoolerFit => ({
        cooler: c.name,
        kind: c.name.includes('loop') ? 'liquid' : 'air',
        runs: 12,
        mounts: 2,
        runs_without_mount: 0,
        samples: 1,
        power_low_W: TESTED[0],
        power_high_W: TESTED[1],
        resistance_K_per_W: c.base + 0.0015,
        resistance_u_K_per_W: 0.0031 + 0.0002 * i,
        models: [
          {
            model: 'conduction-and-fan',
            title: 'Conduction and a fan power law',
            weight: 0.62,
            converged: true,
            reason: '',
            parameters: {
              conduction: { value: 0.0712, standard_error: 0.0041, unit: 'K/W' },
              air: { value: 0.0998, standard_error: 0.0037, unit: 'K/W' },
              exponent: { value: 0.713, standard_error: 0.052, unit: '1' },
            },
            warnings: [],
          },
          {
            model: 'pipe-limit',
            title: 'Heat pipes with a limit',
            weight: 0.38,
            converged: i !== 5,
            reason: i === 5 ? 'the limit is not seen by any run' : '',
            parameters: {
              conduction: { value: 0.0702, standard_error: 0.0052, unit: 'K/W' },
              limit: { value: 241, standard_error: 38, unit: 'W' },
            },
            warnings: [],
          },
        ],
        notes: i === 5 ? ['three runs only: the exponent is borrowed from the other coolers'] : [],
      }),
    ),
    scatter: {
      mount_K_per_W: part(0.0042),
      sample_K_per_W: part(0.003, true),
      session_K_per_W: part(0.0016, true),
      reading_K: part(0.12),
    },
    warnings: [],
  };
}
