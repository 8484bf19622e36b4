import { describe, expect, it } from 'vitest';
import type { FlatnessPoint } from '../../src/bench/bench.ts';
import {
  beyondPlane,
  leastSquaresPlane,
  minimumZone,
  planeDepth_um,
  restingPlane,
} from '../../src/surfaces/plane.ts';
import { surfaceFigure } from '../../src/surfaces/surface-figure.ts';

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
