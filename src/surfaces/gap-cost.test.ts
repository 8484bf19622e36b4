import { describe, expect, it } from 'vitest';
import type { FlatnessPoint } from '../bench/bench.ts';
import { coupledFilm } from './coupled-film.ts';
import { evenGap, type GapMap, gapMap, meanGap_um } from './gap-map.ts';
import { pasteResistance } from './paste-resistance.ts';

const at = (x_mm: number, y_mm: number, depth_um: number): FlatnessPoint => ({ x_mm, y_mm, depth_um });

/** 14 cm², square; heat of 200 W; paste of 4 W/mK (common practice: 4 to 8). */
const SIDE = Math.sqrt(1400);
const DIE = Math.sqrt(500);
const POWER = 200;
const PASTE = 4;

function surface(depth: (x: number, y: number) => number): GapMap {
  const points: FlatnessPoint[] = [];
  for (let j = 0; j <= 20; j += 1) {
    for (let i = 0; i <= 20; i += 1) {
      const x = SIDE * (i / 20 - 0.5);
      const y = SIDE * (j / 20 - 0.5);
      points.push(at(x, y, depth(x, y)));
    }
  }
  return gapMap(points);
}

/** Rises of the die's mean and of its middle by a gap, beside the film alone, K. */
function throughDie(gap: GapMap, lid_mm: number): { mean: number; middle: number } {
  const rise = (map: GapMap) =>
    coupledFilm(
      {
        gap: map,
        film_um: 20,
        paste_W_per_mK: PASTE,
        upper: { thickness_mm: lid_mm, k_W_per_mK: 390 },
        base: { thickness_mm: 3, k_W_per_mK: 390 },
        sink: { kind: 'film', h_W_per_m2K: 20_000 },
      },
      [{ x_mm: 0, y_mm: 0, width_mm: DIE, depth_mm: DIE, power_W: POWER }],
      [{ x_mm: 0, y_mm: 0 }],
    );
  const [uneven, flat] = [rise(gap), rise(evenGap(gap, 0))];
  return { mean: uneven.source_K - flat.source_K, middle: uneven.at_K[0]! - flat.at_K[0]! };
}

describe('what 45 µm cost at 200 W on 14 cm² of paste of 4 W/mK', () => {
  const evenFlux = (45e-6 / (PASTE * 14e-4)) * POWER;
  const flat = surface(() => 0);
  const costs = (gap: GapMap) => {
    const r = pasteResistance(gap, PASTE, 20);
    return (r.even_flux_K_per_W - r.flat_K_per_W) * POWER;
  };

  it('is 1.6 K at even flux for 45 µm of mean gap', () => {
    expect(evenFlux).toBeCloseTo(1.607, 3);
    expect(costs(evenGap(flat, 45))).toBeCloseTo(1.607, 3);
  });

  it('is half of that where half of the waviness is mean gap', () => {
    const wave = (2 * Math.PI * 2) / SIDE;
    const wavy = surface((x, y) => 22.5 * (1 - Math.cos(wave * x) * Math.cos(wave * y)));
    expect(meanGap_um(wavy)).toBeCloseTo(22.5, 0);
    expect(costs(wavy) / evenFlux).toBeCloseTo(0.5, 1);
  });

  it('is two to three times as much where the heat reaches the paste through 5 cm² in the middle', () => {
    const extra = evenGap(flat, 45);
    // no lid: the share of the areas, 14/5 = 2.8, less what the die itself would spread
    const bare = throughDie(extra, 0.01);
    expect(bare.mean / evenFlux).toBeGreaterThan(2.6);
    expect(bare.mean / evenFlux).toBeLessThan(2.8);
    const thin = throughDie(extra, 0.5);
    expect(thin.mean / evenFlux).toBeGreaterThan(1.95);
    expect(thin.middle / evenFlux).toBeGreaterThan(2.3);
    // a lid of 2 mm spreads the heat before the paste and takes off more than half of the surplus
    const lidded = throughDie(extra, 2);
    expect(lidded.mean / evenFlux).toBeGreaterThan(1.3);
    expect(lidded.mean / evenFlux).toBeLessThan(1.6);
  });

  it('has the right sign for a bow over the die', () => {
    // both bows have 45 µm of mean gap: the convex one has a sagitta of three times that, the hollow one of 1.5 times
    const sagitta = (um: number) => surface((x, y) => (um * (x * x + y * y)) / (SIDE * SIDE * 0.5));
    const convex = sagitta(135);
    const hollow = sagitta(-67.5);
    expect(meanGap_um(convex)).toBeCloseTo(45, 0);
    expect(meanGap_um(hollow)).toBeCloseTo(45, 0);
    expect(costs(convex) / costs(hollow)).toBeCloseTo(1, 1);
    for (const lid of [0.01, 0.5, 2]) {
      const even = throughDie(evenGap(flat, 45), lid);
      const [high, low] = [throughDie(convex, lid), throughDie(hollow, lid)];
      expect(high.mean).toBeLessThan(even.mean);
      expect(high.middle).toBeLessThan(high.mean);
      expect(low.mean).toBeGreaterThan(even.mean);
      expect(low.middle).toBeGreaterThan(low.mean);
      expect(high.mean).toBeLessThan(evenFlux);
    }
  });
});
