import { describe, expect, it } from 'vitest';
import type { FlatnessPoint } from '../../src/bench/bench.ts';
import { coupledFilm } from '../../src/contact/coupled-film.ts';
import { evenGap, type GapMap, gapMap, meanGap_um } from '../../src/contact/gap-map.ts';
import { pasteResistance } from '../../src/contact/paste.ts';
import {
  beyondPlane,
  leastSquaresPlane,
  minimumZone,
  planeDepth_um,
  restingPlane,
} from '../../src/contact/plane.ts';
import { surfaceFigure } from '../../src/contact/surface-figure.ts';

const tilt = (p: FlatnessPoint): FlatnessPoint => ({
  ...p,
  depth_um: p.depth_um + 120 + 3.1 * p.x_mm - 1.7 * p.y_mm,
});
const at = (x_mm: number, y_mm: number, depth_um: number): FlatnessPoint => ({ x_mm, y_mm, depth_um });

describe('minimum zone of constructed points', () => {
  // ISO 12781-1: the zone is the least when three points on one plane enclose one on the other (3–1), or two on one
  // cross two on the other (2–2); points between the planes change nothing.
  it('is 3–1', () => {
    const points = [
      at(0, 0, 0),
      at(30, 2, 0),
      at(11, 28, 0),
      at(13, 9, 17),
      at(9, 8, 12),
      at(20, 5, 3),
      at(5, 3, 16.9),
    ];
    const zone = minimumZone(points.map(tilt));
    expect(zone.width_um).toBeCloseTo(17, 9);
    expect(new Set(zone.upper)).toEqual(new Set([0, 1, 2]));
    expect(zone.lower).toEqual([3]);
  });
  it('is 2–2', () => {
    const points = [
      at(-10, 0, 0),
      at(30, 0, 0),
      at(0, -20, 23),
      at(0, 10, 23),
      at(4, 3, 11),
      at(-3, -5, 22),
      at(12, 1, 0.5),
    ];
    const zone = minimumZone(points.map(tilt));
    expect(zone.width_um).toBeCloseTo(23, 9);
    expect(new Set(zone.upper)).toEqual(new Set([0, 1]));
    expect(new Set(zone.lower)).toEqual(new Set([2, 3]));
    // the least-squares plane overstates it
    expect(surfaceFigure(points.map(tilt)).flatness_least_squares_um).toBeGreaterThan(23);
  });
  it('is the sagitta of a paraboloid, whose least-squares plane is its mean depth', () => {
    const points: FlatnessPoint[] = [];
    for (let j = -4; j <= 4; j += 1)
      for (let i = -4; i <= 4; i += 1) points.push(at(5 * i, 5 * j, 0.05 * 25 * (i * i + j * j)));
    const zone = minimumZone(points.map(tilt));
    expect(zone.width_um).toBeCloseTo(0.05 * 800, 9);
    const plane = leastSquaresPlane(points);
    // mean of i² over −4 … 4 is 20/3
    expect(plane.at_um).toBeCloseTo((0.05 * 25 * 40) / 3, 9);
    expect(plane.along_x_um_per_mm).toBeCloseTo(0, 12);
    const figure = surfaceFigure(points.map(tilt));
    expect(figure.bow_um).toBeCloseTo(40, 8);
    expect(figure.waviness_um).toBeCloseTo(0, 8);
    expect(figure.saddle_um).toBeCloseTo(0, 8);
  });
});

describe('planes of 400 points against a general linear-programming solver', () => {
  const points = Array.from({ length: 400 }, (_, i) => {
    const x = ((i * 37) % 401) / 10;
    const y = ((i * 101) % 397) / 10;
    return at(x, y, ((i * i * 13 + i * 7) % 1009) / 20 + 0.02 * (x - 20) ** 2 + 3 * x);
  });
  // scipy 1.17.1, linprog(method='highs'): min w with |d − ax − by − c| ≤ w, twice w; and the greatest depth of a plane
  // under no point (d − ax − by − c ≥ 0 for all) at the middle of the x and y ranges:
  //   r = linprog([0,0,0,1], block([[-x,-y,-1,-1],[x,y,1,-1]]), r_[-d,d], bounds=[(None,None)]*4)
  //   s = linprog(-array([mid(x), mid(y), 1]), c_[x,y,ones], d, bounds=[(None,None)]*3)
  it('has the same least width', () => {
    expect(minimumZone(points).width_um).toBeCloseTo(54.9133962678375, 8);
  });
  it('rests at the same height', () => {
    const { plane, contacts } = restingPlane(points);
    expect(planeDepth_um(plane, 20, 19.8)).toBeCloseTo(60.988251665267285, 8);
    expect(Math.min(...beyondPlane(points, plane))).toBeGreaterThan(-1e-9);
    expect(contacts.length).toBe(3);
  });
});

/** 14 cm², square; heat of 200 W; paste of 4 W/mK. */
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
