/**
 * Planes through depth-gauge points: depth = at + along_x·x + along_y·y, depth in µm growing *into* the surface.
 *
 * Whoever holds the gauge zeroes it somewhere and lays the cooler on the table somehow, so a plane's height and tilt
 * in the readings mean nothing: every figure of a surface is about what is left beside a plane.
 */
import type { FlatnessPoint } from '../bench/bench.ts';
import { solveLinear } from '../numerics/orthogonal.ts';
import { solveSmallBasis } from './small-basis-program.ts';

export interface Plane {
  at_um: number;
  along_x_um_per_mm: number;
  along_y_um_per_mm: number;
}

/** Depth of the plane at a place, µm. */
export function planeDepth_um(plane: Plane, x_mm: number, y_mm: number): number {
  return plane.at_um + plane.along_x_um_per_mm * x_mm + plane.along_y_um_per_mm * y_mm;
}

/** Depth of each point beyond the plane, µm: positive = lower than the plane. */
export function beyondPlane(points: readonly FlatnessPoint[], plane: Plane): number[] {
  return points.map((p) => p.depth_um - planeDepth_um(plane, p.x_mm, p.y_mm));
}

/**
 * Least-squares plane of the points, the reference plane LSPL of ISO 12781-1.
 *
 * @throws RangeError unless three points are not on one line
 * @example leastSquaresPlane([0, 1].flatMap((x) => [0, 1].map((y) => ({ x_mm: x, y_mm: y, depth_um: 5 + 2 * x })))).along_x_um_per_mm // 2.000
 */
export function leastSquaresPlane(points: readonly FlatnessPoint[]): Plane {
  const frame = centredFrame(points);
  let [xx, xy, yy, xd, yd, d] = [0, 0, 0, 0, 0, 0];
  points.forEach((p, i) => {
    const [x, y] = [frame.x[i]!, frame.y[i]!];
    xx += x * x;
    xy += x * y;
    yy += y * y;
    xd += x * p.depth_um;
    yd += y * p.depth_um;
    d += p.depth_um;
  });
  const slopes = solveLinear(Float64Array.of(xx, xy, xy, yy), 2, Float64Array.of(xd, yd));
  if (!slopes) throw new RangeError(NOT_A_PLANE);
  return frame.toPlane(d / points.length, slopes[0]!, slopes[1]!);
}

export interface MinimumZone {
  /** Distance of the two parallel planes, µm: the flatness. */
  width_um: number;
  /** Midway between them. */
  plane: Plane;
  /** Points (by index) on the upper plane, the least depth, and on the lower: 3 and 1, 2 and 2, or 1 and 3. */
  upper: number[];
  lower: number[];
}

/**
 * Minimum-zone flatness (ISO 12781-1, MZPL): the closest two parallel planes that hold all points between them.
 *
 * Exact: the least over all planes of the greatest distance is a linear program, and its contacts prove it: the
 * points touching the upper plane and those touching the lower one, seen from above, cross each other (a triangle round
 * a point, or two crossing lines). Distance is taken along the gauge; square to the plane it is smaller by half of the
 * slope squared, 3·10⁻⁶ of it at a tilt of 100 µm over 40 mm.
 *
 * @throws RangeError unless three points are not on one line
 */
export function minimumZone(points: readonly FlatnessPoint[]): MinimumZone {
  const frame = centredFrame(points);
  const n = points.length;
  const rough = leastSquaresPlane(points);
  const depth = beyondPlane(points, rough);
  const span = Math.max(extent(depth), 1e-9);
  const third = farthestTriangle(frame);
  // candidates 0 … n−1 press from below (+depth), n … 2n−1 from above (−depth)
  const solution = solveSmallBasis({
    rows: 4,
    count: 2 * n,
    column: (i, into) => {
      const sign = i < n ? 1 : -1;
      const p = i % n;
      into[0] = i < n ? 1 : 0;
      into[1] = i < n ? 0 : 1;
      into[2] = sign * frame.x[p]!;
      into[3] = sign * frame.y[p]!;
      return into;
    },
    value: (i) => (i < n ? depth[i]! : -depth[i - n]!) / span,
    right: [1, 1, 0, 0],
    start: [third[0], third[0] + n, third[1], third[2]],
    tolerance: 1e-12,
  });
  const [low, high, alongX, alongY] = solution.prices.map((p) => p * span);
  const beside = frame.toPlane((low - high) / 2, alongX, alongY);
  const touching = solution.basis.filter((_, r) => solution.weights[r]! > 1e-9);
  return {
    width_um: Math.max(0, low + high),
    plane: {
      at_um: rough.at_um + beside.at_um,
      along_x_um_per_mm: rough.along_x_um_per_mm + beside.along_x_um_per_mm,
      along_y_um_per_mm: rough.along_y_um_per_mm + beside.along_y_um_per_mm,
    },
    upper: touching.filter((i) => i >= n).map((i) => i - n),
    lower: touching.filter((i) => i < n),
  };
}

export interface RestingPlane {
  plane: Plane;
  /** Points (by index) that carry the mating plane. */
  contacts: number[];
}

/**
 * The plane on which a flat, stiff mating surface comes to rest when pressed at one place: it touches the high points
 * whose triangle encloses that place, and lies above all others.
 *
 * That is the facet of the upper convex hull over the place; the same linear program finds it.
 *
 * @param pressed  where the force passes through, mm; the middle of the points when absent
 * @throws RangeError when the place is outside the points: nothing could rest there without tipping
 */
export function restingPlane(
  points: readonly FlatnessPoint[],
  pressed?: { x_mm: number; y_mm: number },
): RestingPlane {
  const frame = centredFrame(points);
  const n = points.length;
  const rough = leastSquaresPlane(points);
  const depth = beyondPlane(points, rough);
  const span = Math.max(extent(depth), 1e-9);
  const x = pressed ? frame.scaleX(pressed.x_mm) : middleOf(frame.x);
  const y = pressed ? frame.scaleY(pressed.y_mm) : middleOf(frame.y);
  const start = enclosingTriangle(frame, x, y);
  if (!start)
    throw new RangeError('the force passes outside the measured points; a place among them is accepted');
  const solution = solveSmallBasis({
    rows: 3,
    count: n,
    column: (i, into) => {
      into[0] = 1;
      into[1] = frame.x[i]!;
      into[2] = frame.y[i]!;
      return into;
    },
    value: (i) => -depth[i]! / span,
    right: [1, x, y],
    start,
    tolerance: 1e-12,
  });
  const [at, alongX, alongY] = solution.prices.map((p) => -p * span);
  const beside = frame.toPlane(at, alongX, alongY);
  return {
    plane: {
      at_um: rough.at_um + beside.at_um,
      along_x_um_per_mm: rough.along_x_um_per_mm + beside.along_x_um_per_mm,
      along_y_um_per_mm: rough.along_y_um_per_mm + beside.along_y_um_per_mm,
    },
    contacts: solution.basis.filter((_, r) => solution.weights[r]! > 1e-9),
  };
}

const NOT_A_PLANE =
  'the points lie on one line or are fewer than three; three that are not on one line are accepted';

/** Least and greatest value. */
function lowAndHigh(values: Iterable<number>): [number, number] {
  let low = Infinity;
  let high = -Infinity;
  for (const v of values) {
    low = Math.min(low, v);
    high = Math.max(high, v);
  }
  return [low, high];
}

function extent(values: Iterable<number>): number {
  const [low, high] = lowAndHigh(values);
  return high - low;
}

function middleOf(values: Iterable<number>): number {
  const [low, high] = lowAndHigh(values);
  return (low + high) / 2;
}

/** Coordinates about the points' mean, as shares of their greatest distance from it. */
interface Frame {
  x: Float64Array;
  y: Float64Array;
  scaleX: (x_mm: number) => number;
  scaleY: (y_mm: number) => number;
  toPlane: (at: number, alongX: number, alongY: number) => Plane;
}

/** Points about their centre and scaled to a size of 1, so that the fit is well conditioned. */
function centredFrame(points: readonly FlatnessPoint[]): Frame {
  if (points.length < 3) throw new RangeError(NOT_A_PLANE);
  let [cx, cy] = [0, 0];
  for (const p of points) {
    if (![p.x_mm, p.y_mm, p.depth_um].every(Number.isFinite)) {
      throw new RangeError(`a point (${p.x_mm}, ${p.y_mm}, ${p.depth_um}) is not a finite number`);
    }
    cx += p.x_mm / points.length;
    cy += p.y_mm / points.length;
  }
  let size = 0;
  for (const p of points) size = Math.max(size, Math.hypot(p.x_mm - cx, p.y_mm - cy));
  if (size === 0) throw new RangeError(NOT_A_PLANE);
  return {
    x: Float64Array.from(points, (p) => (p.x_mm - cx) / size),
    y: Float64Array.from(points, (p) => (p.y_mm - cy) / size),
    scaleX: (x_mm) => (x_mm - cx) / size,
    scaleY: (y_mm) => (y_mm - cy) / size,
    toPlane: (at, alongX, alongY) => ({
      at_um: at - (alongX * cx + alongY * cy) / size,
      along_x_um_per_mm: alongX / size,
      along_y_um_per_mm: alongY / size,
    }),
  };
}

/** Three points far from one another. */
function farthestTriangle({ x, y }: Frame): [number, number, number] {
  const farthest = (distance: (i: number) => number) => {
    let best = 0;
    for (let i = 1; i < x.length; i += 1) if (distance(i) > distance(best)) best = i;
    return best;
  };
  const a = farthest((i) => Math.hypot(x[i]!, y[i]!));
  const b = farthest((i) => Math.hypot(x[i]! - x[a]!, y[i]! - y[a]!));
  const across = (i: number) =>
    Math.abs((x[b]! - x[a]!) * (y[i]! - y[a]!) - (y[b]! - y[a]!) * (x[i]! - x[a]!));
  const c = farthest(across);
  if (across(c) < 1e-6) throw new RangeError(NOT_A_PLANE);
  return [a, b, c];
}

/** Three points round a place: a triangle of the points' outline seen from its first corner. */
function enclosingTriangle({ x, y }: Frame, px: number, py: number): [number, number, number] | undefined {
  const order = Array.from(x, (_, i) => i).sort((a, b) => x[a]! - x[b]! || y[a]! - y[b]!);
  const turn = (a: number, b: number, c: number) =>
    (x[b]! - x[a]!) * (y[c]! - y[a]!) - (y[b]! - y[a]!) * (x[c]! - x[a]!);
  const chain = (indices: number[]) => {
    const hull: number[] = [];
    for (const i of indices) {
      while (hull.length >= 2 && turn(hull[hull.length - 2]!, hull[hull.length - 1]!, i) <= 1e-12) hull.pop();
      hull.push(i);
    }
    return hull.slice(0, -1);
  };
  const hull = [...chain(order), ...chain([...order].reverse())];
  for (let i = 1; i + 1 < hull.length; i += 1) {
    const triangle: [number, number, number] = [hull[0]!, hull[i]!, hull[i + 1]!];
    const corners = [1, 1, 1, ...triangle.map((v) => x[v]!), ...triangle.map((v) => y[v]!)];
    const shares = solveLinear(Float64Array.from(corners), 3, Float64Array.of(1, px, py));
    if (shares?.every((s) => s >= -1e-9)) return triangle;
  }
  return undefined;
}
