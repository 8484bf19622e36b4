/**
 * What kind of unevenness a surface has: bow, saddle, waviness.
 *
 * A least-squares paraboloid is taken out of the readings. Its part that curves alike in all directions is the bow,
 * the rest of it the saddle, and what it leaves is waviness (milling marks, pipes standing proud, a gauge's own scatter).
 * The sign of a bow matters more than its size: a base that is high in the middle meets the die there.
 */
import type { FlatnessPoint } from '../bench/bench.ts';
import { diagonal, invertSpd, transposeProduct } from '../numerics/matrix.ts';
import { solveLinear } from '../numerics/orthogonal.ts';
import { beyondPlane, leastSquaresPlane, minimumZone, type Plane } from './plane.ts';

export interface SurfaceFigure {
  /** Minimum-zone flatness, µm (ISO 12781-1). */
  flatness_um: number;
  /** Peak to valley about the least-squares plane, µm: never less than the minimum zone. */
  flatness_least_squares_um: number;
  rms_um: number;
  least_squares_plane: Plane;
  /** Middle above the farthest point by the paraboloid's even part, µm: positive = convex, negative = hollow. */
  bow_um: number;
  /** Peak to valley of the paraboloid's uneven part, µm. */
  saddle_um: number;
  /** Peak to valley and root mean square of what the paraboloid leaves, µm. */
  waviness_um: number;
  waviness_rms_um: number;
}

/** Depth of the trend at a place, µm: plane or paraboloid. */
export type Trend = (x_mm: number, y_mm: number) => number;

interface Paraboloid {
  trend: Trend;
  /** Even curvature: depth grows by this per mm² of squared distance, µm/mm². */
  even_um_per_mm2: number;
  uneven: Trend;
  middle: { x_mm: number; y_mm: number };
}

/**
 * Least-squares paraboloid of the points; with fewer than six points, or points on one conic, the plane.
 *
 * @throws RangeError unless three points are not on one line
 */
export function leastSquaresParaboloid(points: readonly FlatnessPoint[]): Paraboloid {
  const plane = leastSquaresPlane(points);
  const depth = beyondPlane(points, plane);
  const xs = points.map((p) => p.x_mm);
  const ys = points.map((p) => p.y_mm);
  const middle = { x_mm: halfway(xs), y_mm: halfway(ys) };
  const scale = Math.max(spanOf(xs), spanOf(ys)) / 2;
  const terms = (x_mm: number, y_mm: number) => {
    const x = (x_mm - middle.x_mm) / scale;
    const y = (y_mm - middle.y_mm) / scale;
    return [1, x, y, x * x + y * y, x * x - y * y, x * y];
  };
  const n = points.length;
  const design = Float64Array.from(points.flatMap((p) => terms(p.x_mm, p.y_mm)));
  const normal = transposeProduct(design, design, n, 6, 6);
  const right = transposeProduct(design, Float64Array.from(depth), n, 6);
  const found = n >= 6 && wellPosed(normal, n) ? solveLinear(normal, 6, right) : undefined;
  const c = found ?? new Float64Array(6);
  const value = (x: number, y: number, from: number) =>
    terms(x, y).reduce((sum, t, r) => (r >= from ? sum + c[r]! * t : sum), 0);
  return {
    trend: (x, y) => plane.at_um + plane.along_x_um_per_mm * x + plane.along_y_um_per_mm * y + value(x, y, 0),
    even_um_per_mm2: c[3]! / scale ** 2,
    uneven: (x, y) => value(x, y, 4),
    middle,
  };
}

/**
 * @param points  depth-gauge readings, depth growing into the surface
 * @throws RangeError unless three points are not on one line
 * @example
 * // a base of 40 × 40 mm, 40 µm lower at its corners than in its middle
 * const at = [-20, -10, 0, 10, 20];
 * const points = at.flatMap((x_mm) => at.map((y_mm) => ({ x_mm, y_mm, depth_um: (x_mm ** 2 + y_mm ** 2) / 20 })));
 * surfaceFigure(points).bow_um // 40.00
 */
export function surfaceFigure(points: readonly FlatnessPoint[]): SurfaceFigure {
  const plane = leastSquaresPlane(points);
  const beside = beyondPlane(points, plane);
  const paraboloid = leastSquaresParaboloid(points);
  const farthest = Math.max(
    ...points.map((p) => Math.hypot(p.x_mm - paraboloid.middle.x_mm, p.y_mm - paraboloid.middle.y_mm)),
  );
  const left = points.map((p) => p.depth_um - paraboloid.trend(p.x_mm, p.y_mm));
  return {
    flatness_um: minimumZone(points).width_um,
    flatness_least_squares_um: spanOf(beside),
    rms_um: rootMeanSquare(beside),
    least_squares_plane: plane,
    bow_um: paraboloid.even_um_per_mm2 * farthest ** 2,
    saddle_um: spanOf(points.map((p) => paraboloid.uneven(p.x_mm, p.y_mm))),
    waviness_um: spanOf(left),
    waviness_rms_um: rootMeanSquare(left),
  };
}

/** Points on one conic leave the six terms dependent: then some variance of the inverse has no bound. */
function wellPosed(normal: Float64Array, count: number): boolean {
  const inverse = normal.slice();
  return invertSpd(inverse, 6) && diagonal(inverse, 6).every((variance) => variance * count < 1e7);
}

function halfway(values: readonly number[]): number {
  const [low, high] = lowAndHigh(values);
  return (low + high) / 2;
}

function spanOf(values: readonly number[]): number {
  const [low, high] = lowAndHigh(values);
  return high - low;
}

function lowAndHigh(values: readonly number[]): [number, number] {
  return values.reduce<[number, number]>(
    ([a, b], v) => [Math.min(a, v), Math.max(b, v)],
    [Infinity, -Infinity],
  );
}

function rootMeanSquare(values: readonly number[]): number {
  return Math.sqrt(values.reduce((sum, v) => sum + v * v, 0) / values.length);
}
