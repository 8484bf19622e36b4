import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Bench, FlatnessPoint } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { canExplain } from './can-explain.ts';
import { type CoupledStack, coupledFilm } from './coupled-film.ts';
import { evenGap, gapMap, meanGap_um } from './gap-map.ts';
import { closedShare, filmThickness_um, pasteResistance } from './paste-resistance.ts';
import { beyondPlane, leastSquaresPlane, minimumZone, restingPlane } from './plane.ts';
import type { Plate } from './plate.ts';
import { plateRise } from './plate-rise.ts';
import { surfaceFigure } from './surface-figure.ts';
import { unevenness } from './unevenness.ts';

/** Gauge lattice of (2n+1)² points over ±half mm. */
function lattice(depth: (x: number, y: number) => number, half = 20, n = 6): FlatnessPoint[] {
  const points: FlatnessPoint[] = [];
  for (let j = -n; j <= n; j += 1) {
    for (let i = -n; i <= n; i += 1) {
      const [x_mm, y_mm] = [(i * half) / n, (j * half) / n];
      points.push({ x_mm, y_mm, depth_um: depth(x_mm, y_mm) });
    }
  }
  return points;
}

const randomPoints = fc.array(
  fc.record({
    x_mm: fc.integer({ min: -20, max: 20 }),
    y_mm: fc.integer({ min: -20, max: 20 }),
    depth_um: fc.double({ min: -50, max: 50, noNaN: true }),
  }),
  { minLength: 5, maxLength: 40 },
);

const notOnLine = (points: FlatnessPoint[]) =>
  points.some((p) =>
    points.some(
      (q) =>
        (p.x_mm - points[0]!.x_mm) * (q.y_mm - points[0]!.y_mm) !==
        (q.x_mm - points[0]!.x_mm) * (p.y_mm - points[0]!.y_mm),
    ),
  );

describe('planes', () => {
  it('finds the plane it was given', () => {
    const plane = leastSquaresPlane(lattice((x, y) => 5 + 2 * x - 0.5 * y));
    expect(plane.at_um).toBeCloseTo(5, 10);
    expect(plane.along_x_um_per_mm).toBeCloseTo(2, 12);
    expect(plane.along_y_um_per_mm).toBeCloseTo(-0.5, 12);
  });
  it('has a zone of no width on a plane, and refuses a line', () => {
    expect(minimumZone(lattice((x) => 7 * x)).width_um).toBeCloseTo(0, 8);
    const line = [0, 1, 2, 3].map((x_mm) => ({ x_mm, y_mm: 2 * x_mm, depth_um: x_mm ** 2 }));
    expect(() => minimumZone(line)).toThrow(/one line/);
    expect(() => leastSquaresPlane(line)).toThrow(/one line/);
    expect(() => leastSquaresPlane([])).toThrow(/three/);
  });
  it('holds all points, proves itself by its contacts, and no plane does better', () => {
    fc.assert(
      fc.property(
        randomPoints,
        fc.double({ min: -1, max: 1, noNaN: true }),
        fc.double({ min: -1, max: 1, noNaN: true }),
        (points, u, v) => {
          fc.pre(notOnLine(points));
          const zone = minimumZone(points);
          const beside = beyondPlane(points, zone.plane);
          expect(Math.max(...beside)).toBeLessThanOrEqual(zone.width_um / 2 + 1e-8);
          expect(Math.min(...beside)).toBeGreaterThanOrEqual(-zone.width_um / 2 - 1e-8);
          for (const i of zone.upper) expect(beside[i]).toBeCloseTo(-zone.width_um / 2, 7);
          for (const i of zone.lower) expect(beside[i]).toBeCloseTo(zone.width_um / 2, 7);
          for (const scale of [1, 0.01]) {
            const tilted = beside.map((d, i) => d + scale * (u * points[i]!.x_mm + v * points[i]!.y_mm));
            expect(Math.max(...tilted) - Math.min(...tilted)).toBeGreaterThanOrEqual(zone.width_um - 1e-8);
          }
        },
      ),
      { numRuns: 200 },
    );
  });
  it('agrees with trying every triangle and every pair of edges', () => {
    fc.assert(
      fc.property(
        randomPoints.filter((p) => p.length <= 10),
        (points) => {
          fc.pre(notOnLine(points));
          expect(minimumZone(points).width_um).toBeCloseTo(exhaustiveWidth(points), 6);
        },
      ),
      { numRuns: 60 },
    );
  });
  it('does not change when the gauge is tilted or zeroed elsewhere', () => {
    const bumpy = lattice((x, y) => 8 * Math.sin(x / 3) + 5 * Math.cos(y / 4));
    const tilted = bumpy.map((p) => ({ ...p, depth_um: p.depth_um + 300 + 4 * p.x_mm - 7 * p.y_mm }));
    expect(minimumZone(tilted).width_um).toBeCloseTo(minimumZone(bumpy).width_um, 8);
    expect(meanGap_um(gapMap(tilted))).toBeCloseTo(meanGap_um(gapMap(bumpy)), 8);
  });
  it('takes thousands of points', () => {
    const many = lattice((x, y) => 20 * Math.sin(x) * Math.cos(y) + 0.02 * x * x, 20, 35);
    const zone = minimumZone(many);
    expect(many.length).toBe(5041);
    expect(zone.width_um).toBeLessThanOrEqual(surfaceFigure(many).flatness_least_squares_um);
  });
});

describe('resting plane', () => {
  it('stands on the three highest corners round the force', () => {
    const points = lattice((x, y) =>
      Math.abs(x) === 20 && Math.abs(y) === 20 ? (x === 20 && y === 20 ? 9 : 0) : 30,
    );
    const { plane, contacts } = restingPlane(points);
    // pressed in the middle it may lean on the diagonal of the two equal corners
    expect(beyondPlane(points, plane).every((d) => d >= -1e-9)).toBe(true);
    expect(contacts.every((c) => points[c]!.depth_um <= 9)).toBe(true);
  });
  it('tips about one high point when the force passes beside it', () => {
    const points = lattice((x, y) => (x === 0 && y === 0 ? 0 : 10));
    const level = restingPlane(points, { x_mm: 0, y_mm: 0 });
    expect(level.contacts.map((c) => [points[c]!.x_mm, points[c]!.y_mm])).toContainEqual([0, 0]);
    const { plane } = restingPlane(points, { x_mm: 10, y_mm: 0 });
    expect(plane.along_x_um_per_mm).toBeCloseTo(0.5, 8);
  });
  it('refuses a force outside', () => {
    expect(() =>
      restingPlane(
        lattice(() => 0),
        { x_mm: 30, y_mm: 0 },
      ),
    ).toThrow(/outside/);
  });
});

describe('gap map', () => {
  it('is a third of the sagitta under a convex bow and two thirds over a hollow one', () => {
    const bow = (x: number, y: number) => (45 * (x * x + y * y)) / 800;
    expect(meanGap_um(gapMap(lattice(bow), { cells: 80 }))).toBeCloseTo(15, 1);
    expect(
      meanGap_um(
        gapMap(
          lattice((x, y) => -bow(x, y)),
          { cells: 80 },
        ),
      ),
    ).toBeCloseTo(30, 1);
  });
  it('adds both surfaces: a convex base on a hollow face of the same bow fits', () => {
    const bow = (x: number, y: number) => (45 * (x * x + y * y)) / 800;
    expect(meanGap_um(gapMap(lattice(bow), { mating: lattice((x, y) => -bow(x, y)) }))).toBeCloseTo(0, 8);
  });
  it('reads scattered points as it reads a lattice', () => {
    const bow = (x: number, y: number) => (45 * (x * x + y * y)) / 800 + 0.02 * x * y;
    const scattered = lattice(bow).filter((_, i) => i % 5 !== 2);
    expect(meanGap_um(gapMap(scattered))).toBeCloseTo(meanGap_um(gapMap(lattice(bow))), 6);
  });
  it('rests on what lies within the contact only, and refuses a contact beyond the readings', () => {
    const rimmed = lattice((x, y) => (Math.max(Math.abs(x), Math.abs(y)) > 18 ? -50 : 0));
    expect(
      meanGap_um(gapMap(rimmed, { contact: { x_mm: 0, y_mm: 0, width_mm: 30, depth_mm: 30 } })),
    ).toBeLessThan(0.1 * meanGap_um(gapMap(rimmed)));
    const wide = { x_mm: 0, y_mm: 0, width_mm: 60, depth_mm: 30 };
    expect(() => gapMap(rimmed, { contact: wide })).toThrow(/beyond the readings/);
  });
});

describe('paste', () => {
  it('is thinner under pressure and never dented away by springs', () => {
    expect(filmThickness_um(300, 100)).toBeCloseTo(34.7, 1);
    expect(filmThickness_um(600, 100) / filmThickness_um(300, 100)).toBeCloseTo(2 ** -0.166, 10);
    expect(closedShare(45, 40, 400)).toBeLessThan(0.01);
    expect(closedShare(0, 40, 400)).toBe(0);
  });
  it('counts conductance below the mean gap, and both alike where the gap is even', () => {
    const map = gapMap(lattice((x, y) => (60 * (x * x + y * y)) / 800));
    const uneven = pasteResistance(map, 5, 20);
    expect(uneven.even_faces_K_per_W).toBeLessThan(uneven.even_flux_K_per_W);
    expect(uneven.even_faces_K_per_W).toBeGreaterThan(uneven.flat_K_per_W);
    const even = pasteResistance(evenGap(map, 30), 5, 20);
    expect(even.even_faces_K_per_W).toBeCloseTo(even.even_flux_K_per_W, 12);
    expect(even.even_flux_K_per_W).toBeCloseTo(50e-6 / (5 * 1.6e-3), 12);
  });
});

describe('coupled film', () => {
  const flat = gapMap(lattice(() => 0));
  const stack: CoupledStack = {
    gap: evenGap(flat, 25),
    film_um: 20,
    paste_W_per_mK: 4.5,
    upper: { thickness_mm: 2, k_W_per_mK: 390 },
    base: { thickness_mm: 3, k_W_per_mK: 390 },
    sink: { kind: 'film', h_W_per_m2K: 15000 },
  };
  const die = { x_mm: 4, y_mm: -2, width_mm: 16, depth_mm: 12, power_W: 100 };

  it('is the series solution where the gap is even, within 0.5 %', () => {
    const plate: Plate = {
      width_mm: 40,
      depth_mm: 40,
      layers: [{ ...stack.upper, joint_m2K_per_W: 45e-6 / 4.5 }, stack.base],
      sink: stack.sink,
    };
    const at = { ...die, x_mm: 24, y_mm: 18 };
    const series = plateRise(plate, [at], at).rise_K;
    const error = (cells: number, slices: number) => {
      const gap = evenGap(
        gapMap(
          lattice(() => 0),
          { cells },
        ),
        25,
      );
      const rise = coupledFilm({ ...stack, gap }, [die], [], slices);
      expect(Math.abs(rise.imbalance)).toBeLessThan(1e-9);
      return Math.abs(rise.source_K / series - 1);
    };
    const coarse = error(40, 4);
    const fine = error(60, 6);
    expect(fine).toBeLessThan(0.005);
    expect(coarse).toBeLessThan(0.01);
    expect(coarse / fine).toBeGreaterThan(1.9);
  });
  it('is one-dimensional where heat enters everywhere', () => {
    const whole = { x_mm: 0, y_mm: 0, width_mm: 40, depth_mm: 40, power_W: 100 };
    const area = 1.6e-3;
    const expected = (100 / area) * (0.002 / 390 + 45e-6 / 4.5 + 0.003 / 390 + 1 / 15000);
    const rise = coupledFilm(stack, [whole], [{ x_mm: 13, y_mm: -19.9 }]);
    expect(rise.source_K).toBeCloseTo(expected, 8);
    expect(rise.at_K[0]).toBeCloseTo(expected, 8);
    expect(rise.film_K).toBeCloseTo(((100 / area) * 45e-6) / 4.5, 8);
  });
  it('lies between even flux and even faces', () => {
    const gap = gapMap(lattice((x, y) => 30 * (1 + Math.sin(x / 3) * Math.cos(y / 3))));
    const whole = { x_mm: 0, y_mm: 0, width_mm: 40, depth_mm: 40, power_W: 1 };
    const sink = { kind: 'isothermal' } as const;
    const film =
      coupledFilm({ ...stack, gap, sink }, [whole]).source_K -
      coupledFilm({ ...stack, gap: evenGap(gap, 0), sink }, [whole]).source_K;
    const paste = pasteResistance(gap, 4.5, 20);
    expect(film).toBeLessThan(paste.even_flux_K_per_W - paste.flat_K_per_W);
    expect(film).toBeGreaterThan(paste.even_faces_K_per_W - paste.flat_K_per_W);
  });
  it('becomes even faces between perfect conductors, and even flux between foils', () => {
    const gap = gapMap(lattice((x, y) => 30 * (1 + Math.sin(x / 3) * Math.cos(y / 3))));
    const whole = { x_mm: 0, y_mm: 0, width_mm: 40, depth_mm: 40, power_W: 1 };
    const cost = (plate: { thickness_mm: number; k_W_per_mK: number }) => {
      const rise = (map: typeof gap) =>
        coupledFilm({ ...stack, gap: map, upper: plate, base: plate }, [whole]).source_K;
      return rise(gap) - rise(evenGap(gap, 0));
    };
    const paste = pasteResistance(gap, 4.5, 20);
    const evenFaces = paste.even_faces_K_per_W - paste.flat_K_per_W;
    const evenFlux = paste.even_flux_K_per_W - paste.flat_K_per_W;
    expect(evenFaces / evenFlux).toBeLessThan(0.95);
    expect(cost({ thickness_mm: 5, k_W_per_mK: 1e6 }) / evenFaces).toBeCloseTo(1, 2);
    expect(cost({ thickness_mm: 0.001, k_W_per_mK: 1 }) / evenFlux).toBeCloseTo(1, 2);
  });
  it('says what it does not accept', () => {
    expect(() => coupledFilm(stack, [{ ...die, x_mm: 15 }])).toThrow(/beyond the contact/);
    expect(() => coupledFilm({ ...stack, sink: { kind: 'even flux' } }, [die])).toThrow(/even flux/);
  });
});

describe('flatness command', () => {
  const bow = (x: number, y: number) => (60 * (x * x + y * y)) / (2 * 18.7 ** 2);
  const bench = {
    name: 'invented',
    flatness: [
      { cooler: 'Heron', sample: '1', points: lattice(bow, 18.7) },
      { cooler: 'Plover', sample: '2', points: lattice((x, y) => -bow(x, y), 18.7) },
    ],
  } as unknown as Bench;

  it('states flatness, gap and cost of each surface', () => {
    const { surfaces, bound, reading } = unevenness(bench, { power_W: [200] });
    const [convex, hollow] = surfaces as [(typeof surfaces)[0], (typeof surfaces)[0]];
    expect(bound).toBe(true);
    expect(reading).toBe('even flux');
    expect(convex.shape).toBe('convex');
    expect(hollow.shape).toBe('hollow');
    expect(convex.bow_um).toBeCloseTo(60, 6);
    expect(hollow.mean_gap_um / convex.mean_gap_um).toBeCloseTo(2, 2);
    for (const row of surfaces) {
      expect(row.flatness_um).toBeLessThanOrEqual(60 + 1e-9);
      expect(row.rise_K).toBeCloseTo(200 * row.resistance_K_per_W, 10);
      expect(row.resistance_high_K_per_W).toBeCloseTo(
        (row.mean_gap_um * 1e-6) / (4 * row.contact_mm2 * 1e-6),
        10,
      );
      expect(row.rise_low_K).toBeLessThan(row.rise_K);
      expect(row.rise_K).toBeLessThan(row.rise_high_K);
    }
  });
  it('couples the gap to a source: a bow over the die counts by its sign', () => {
    const die = { name: 'die', x_mm: 0, y_mm: 0, width_mm: 16, depth_mm: 16, share: 1 };
    const source = {
      source: 'die',
      title: 'one die',
      face: { width_mm: 32, depth_mm: 32 },
      plate: { thickness_mm: 2, k_W_per_mK: 390 },
      joint_m2K_per_W: 0,
      hot_spots: [die],
      sensor: { x_mm: 0, y_mm: 0 },
    };
    const result = unevenness(bench, { power_W: [100, 200], source, riseOf: () => 50 });
    expect(result).toMatchObject({ reading: 'coupled', source: 'die' });
    expect(result.surfaces.map((row) => [row.cooler, row.power_W])).toEqual([
      ['Heron', 100],
      ['Heron', 200],
      ['Plover', 100],
      ['Plover', 200],
    ]);
    const [convex, hollow] = [result.surfaces[1], result.surfaces[3]];
    expect(convex!.contact_mm2).toBeCloseTo(1024, 9);
    expect(convex!.source_gap_um).toBeLessThan(0.5 * convex!.mean_gap_um);
    expect(hollow!.source_gap_um).toBeGreaterThan(1.2 * hollow!.mean_gap_um);
    const perGap = (row: typeof convex) => row!.resistance_K_per_W / row!.mean_gap_um;
    expect(perGap(hollow)).toBeGreaterThan(1.5 * perGap(convex));
    expect(convex!.share_of_rise).toBeCloseTo(convex!.rise_K / 50, 12);
    for (const row of result.surfaces) {
      expect(row.rise_low_K).toBeLessThan(row.rise_K);
      expect(row.rise_K).toBeLessThan(row.rise_high_K);
    }
  });
  it('knows the film and dents a little where the pressure is given', () => {
    const known = unevenness(bench, { pressure_kPa: 300 });
    const unknown = unevenness(bench);
    expect(known).toMatchObject({ bound: false, warnings: [] });
    expect(known.surfaces[0]!.film_um).toBeCloseTo(filmThickness_um(300, 100), 10);
    const ratio = known.surfaces[0]!.mean_gap_um / unknown.surfaces[0]!.mean_gap_um;
    expect(ratio).toBeLessThan(1);
    expect(ratio).toBeGreaterThan(0.98);
  });
  it('explains a difference by it, or does not', () => {
    const [convex, hollow] = unevenness(bench, { power_W: [200] }).surfaces as [never, never];
    const say = (rise_K: number, half: number) =>
      canExplain(hollow, convex, { rise_K, low_K: rise_K - half, high_K: rise_K + half }).verdict;
    const example = { cooler: 'A', rise_K: 1.6, rise_low_K: 1.1, rise_high_K: 2.3 };
    const flat = { cooler: 'B', rise_K: 0, rise_low_K: 0, rise_high_K: 0 };
    expect(canExplain(example, flat, { rise_K: 2, low_K: 1, high_K: 3 })).toMatchObject({
      verdict: 'all',
      share: 0.8,
    });
    const even = { cooler: 'C', rise_K: -0.01, rise_low_K: -0.02, rise_high_K: -0.01 };
    expect(canExplain(even, flat, { rise_K: 4, low_K: 3, high_K: 5 }).sentence).toBe(
      'Unevenness explains almost nothing of C minus B: 0.0 K of 4.0 K.',
    );
    expect(say(0.7, 0.3)).toBe('all');
    expect(say(2.5, 0.5)).toBe('part');
    expect(say(20, 0.5)).toBe('none');
    expect(say(-2.5, 0.5)).toBe('opposite');
    expect(say(0.1, 0.05)).toBe('less than expected');
    expect(say(0.1, 0.5)).toBe('nothing to explain');
    expect(() => canExplain(hollow, convex, { rise_K: 1, low_K: 2, high_K: 3 })).toThrow(/accepted/);
  });
  it('names the file of a map that is no surface, and a cooler without one', () => {
    const broken = {
      ...bench,
      flatness: [{ cooler: 'Heron', sample: '1', points: lattice(bow).slice(0, 2) }],
    };
    expect(() => unevenness(broken)).toThrow(BenchError);
    expect(() => unevenness(broken)).toThrow(/^flatness\/Heron-1.csv:1:1: .*three/);
    expect(() => unevenness(bench, { coolers: ['Wren'] })).toThrow(/no map for Wren/);
  });
});

/** Least width over all planes through three points and all pairs of parallel planes through two edges. */
function exhaustiveWidth(points: readonly FlatnessPoint[]): number {
  const slopes: [number, number][] = [];
  const n = points.length;
  const between = (i: number, j: number) =>
    [
      points[j]!.x_mm - points[i]!.x_mm,
      points[j]!.y_mm - points[i]!.y_mm,
      points[j]!.depth_um - points[i]!.depth_um,
    ] as const;
  for (let a = 0; a < n; a += 1)
    for (let b = a + 1; b < n; b += 1)
      for (let c = 0; c < n; c += 1)
        for (let d = c + 1; d < n; d += 1) {
          const [x1, y1, z1] = between(a, b);
          const [x2, y2, z2] = between(c, d);
          const det = x1 * y2 - x2 * y1;
          if (det !== 0) slopes.push([(z1 * y2 - z2 * y1) / det, (x1 * z2 - x2 * z1) / det]);
        }
  let least = Infinity;
  for (const [u, v] of slopes) {
    const beside = points.map((p) => p.depth_um - u * p.x_mm - v * p.y_mm);
    least = Math.min(least, Math.max(...beside) - Math.min(...beside));
  }
  return least;
}
