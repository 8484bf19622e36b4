/**
 * The gap that paste has to fill, cell by cell, between a cooler's base and what it sits on.
 *
 * Two stiff surfaces pressed together touch at high points only (three, or fewer where one of them bears the whole
 * force) and leave a gap elsewhere. The gap is the sum of both surfaces' depths below the plane on which they rest.
 * Readings are spread over a grid of equal cells: the paraboloid through them, plus what it leaves, carried over between
 * the lines of the gauge's lattice, or from the nearest eight readings where they are scattered.
 */
import type { FlatnessPoint } from '../bench/bench.ts';
import { planeDepth_um, restingPlane } from './plane.ts';
import type { Rectangle } from './rectangle.ts';
import { leastSquaresParaboloid, type Trend } from './surface-figure.ts';

export interface GapMap {
  /** Lower corner of the contact in the gauge's coordinates and its size, mm. */
  x_mm: number;
  y_mm: number;
  width_mm: number;
  depth_mm: number;
  columns: number;
  rows: number;
  /** Gap of cell (column i, row j) at [j·columns + i], µm; no cell below 0. */
  gap_um: Float64Array;
}

export interface GapOptions {
  /**
   * Depths of the surface that the cooler sits on, in the cooler's coordinates (mirrored already); flat when absent.
   */
  mating?: readonly FlatnessPoint[];
  /** The face that the cooler sits on, in the gauge's coordinates; the rectangle round the readings when absent. */
  contact?: Rectangle;
  /** Where the force passes through, mm; the middle of the contact when absent. */
  pressed?: { x_mm: number; y_mm: number };
  /** Cells along the longer side, default 40. */
  cells?: number;
}

/**
 * Gap of stiff surfaces that rest on their high points: the largest that any pressure leaves.
 *
 * Only what lies within the contact carries: a lid smaller than the base never meets the base's edges.
 *
 * @throws RangeError unless three readings are not on one line, or when the contact reaches beyond them
 */
export function gapMap(points: readonly FlatnessPoint[], options: GapOptions = {}): GapMap {
  const cooler = surfaceOf(points);
  const mating = options.mating ? surfaceOf(options.mating) : () => 0;
  const { low_x, high_x, low_y, high_y } = contactBounds(points, options.contact);
  const width_mm = high_x - low_x;
  const depth_mm = high_y - low_y;
  const cell = Math.max(width_mm, depth_mm) / (options.cells ?? 40);
  const columns = Math.max(1, Math.round(width_mm / cell));
  const rows = Math.max(1, Math.round(depth_mm / cell));
  const map: GapMap = {
    x_mm: low_x,
    y_mm: low_y,
    width_mm,
    depth_mm,
    columns,
    rows,
    gap_um: new Float64Array(columns * rows),
  };
  const sums: FlatnessPoint[] = [];
  for (let j = 0; j < rows; j += 1) {
    for (let i = 0; i < columns; i += 1) {
      const { x_mm, y_mm } = cellCentre(map, i, j);
      sums.push({ x_mm, y_mm, depth_um: cooler(x_mm, y_mm) + mating(x_mm, y_mm) });
    }
  }
  const read = points
    .filter((p) => p.x_mm >= low_x && p.x_mm <= high_x && p.y_mm >= low_y && p.y_mm <= high_y)
    .map((p) => ({ ...p, depth_um: p.depth_um + mating(p.x_mm, p.y_mm) }));
  const { plane } = restingPlane([...sums, ...read], options.pressed);
  sums.forEach((p, c) => {
    map.gap_um[c] = Math.max(0, p.depth_um - planeDepth_um(plane, p.x_mm, p.y_mm));
  });
  return map;
}

/** A gap of one size everywhere, for comparison. */
export function evenGap(like: GapMap, gap_um: number): GapMap {
  return { ...like, gap_um: new Float64Array(like.gap_um.length).fill(gap_um) };
}

function cellCentre(map: GapMap, column: number, row: number): { x_mm: number; y_mm: number } {
  return {
    x_mm: map.x_mm + ((column + 0.5) / map.columns) * map.width_mm,
    y_mm: map.y_mm + ((row + 0.5) / map.rows) * map.depth_mm,
  };
}

/** Mean gap over the contact, or over a part of it (in the gauge's coordinates), µm. */
export function meanGap_um(map: GapMap, over?: Rectangle): number {
  let sum = 0;
  let weight = 0;
  for (let j = 0; j < map.rows; j += 1) {
    for (let i = 0; i < map.columns; i += 1) {
      const share = over ? shareOfCell(map, i, j, over) : 1;
      sum += share * map.gap_um[j * map.columns + i]!;
      weight += share;
    }
  }
  if (weight === 0) throw new RangeError('the part asked for lies outside the contact');
  return sum / weight;
}

/** Share of a cell that a rectangle covers, 0 … 1. */
export function shareOfCell(map: GapMap, column: number, row: number, over: Rectangle): number {
  const w = map.width_mm / map.columns;
  const d = map.depth_mm / map.rows;
  const x = map.x_mm + column * w;
  const y = map.y_mm + row * d;
  const along = Math.min(x + w, over.x_mm + over.width_mm / 2) - Math.max(x, over.x_mm - over.width_mm / 2);
  const across = Math.min(y + d, over.y_mm + over.depth_mm / 2) - Math.max(y, over.y_mm - over.depth_mm / 2);
  return (Math.max(0, along) / w) * (Math.max(0, across) / d);
}

/** The rectangle of the readings. */
export function boundsOf(points: readonly FlatnessPoint[]) {
  let [low_x, high_x, low_y, high_y] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const p of points) {
    low_x = Math.min(low_x, p.x_mm);
    high_x = Math.max(high_x, p.x_mm);
    low_y = Math.min(low_y, p.y_mm);
    high_y = Math.max(high_y, p.y_mm);
  }
  return { low_x, high_x, low_y, high_y };
}

/** The contact asked for, which may reach one reading's distance beyond the readings, or their own rectangle. */
function contactBounds(points: readonly FlatnessPoint[], contact: Rectangle | undefined) {
  const all = boundsOf(points);
  if (!contact) return all;
  const asked = {
    low_x: contact.x_mm - contact.width_mm / 2,
    high_x: contact.x_mm + contact.width_mm / 2,
    low_y: contact.y_mm - contact.depth_mm / 2,
    high_y: contact.y_mm + contact.depth_mm / 2,
  };
  const slack = Math.sqrt(((all.high_x - all.low_x) * (all.high_y - all.low_y)) / points.length);
  const beyond = Math.max(
    all.low_x - asked.low_x,
    asked.high_x - all.high_x,
    all.low_y - asked.low_y,
    asked.high_y - all.high_y,
  );
  if (beyond > slack) {
    throw new RangeError(
      `the contact of ${contact.width_mm} × ${contact.depth_mm} mm reaches ${beyond.toFixed(1)} mm beyond the readings; ` +
        `up to ${slack.toFixed(1)} mm, their own distance, is accepted`,
    );
  }
  return asked;
}

/** Depth anywhere: paraboloid plus what it leaves, interpolated. */
function surfaceOf(points: readonly FlatnessPoint[]): Trend {
  const { trend } = leastSquaresParaboloid(points);
  const left = points.map((p) => p.depth_um - trend(p.x_mm, p.y_mm));
  const rest = onLattice(points, left) ?? fromNearest(points, left);
  return (x, y) => trend(x, y) + rest(x, y);
}

/** Bilinear between the lines of a full lattice; `undefined` when the points are none. */
function onLattice(points: readonly FlatnessPoint[], values: readonly number[]): Trend | undefined {
  const xs = [...new Set(points.map((p) => p.x_mm))].sort((a, b) => a - b);
  const ys = [...new Set(points.map((p) => p.y_mm))].sort((a, b) => a - b);
  if (xs.length < 2 || ys.length < 2 || xs.length * ys.length !== points.length) return undefined;
  const at = new Map(points.map((p, i) => [`${p.x_mm} ${p.y_mm}`, values[i]!]));
  if (at.size !== points.length) return undefined;
  const find = (lines: readonly number[], x: number): [number, number] => {
    let i = 0;
    while (i < lines.length - 2 && lines[i + 1]! < x) i += 1;
    return [i, Math.min(1, Math.max(0, (x - lines[i]!) / (lines[i + 1]! - lines[i]!)))];
  };
  return (x, y) => {
    const [i, u] = find(xs, x);
    const [j, v] = find(ys, y);
    const value = (a: number, b: number) => at.get(`${xs[i + a]!} ${ys[j + b]!}`)!;
    return (
      (1 - v) * ((1 - u) * value(0, 0) + u * value(1, 0)) + v * ((1 - u) * value(0, 1) + u * value(1, 1))
    );
  };
}

/** Mean of the nearest eight readings weighted by 1/distance². */
function fromNearest(points: readonly FlatnessPoint[], values: readonly number[]): Trend {
  return (x, y) => {
    const near: { square: number; value: number }[] = [];
    points.forEach((p, i) => {
      const square = (p.x_mm - x) ** 2 + (p.y_mm - y) ** 2;
      if (near.length === 8 && square >= near[7]!.square) return;
      const place = near.findIndex((n) => n.square > square);
      near.splice(place < 0 ? near.length : place, 0, { square, value: values[i]! });
      if (near.length > 8) near.pop();
    });
    let [sum, weight] = [0, 0];
    for (const { square, value } of near) {
      const w = 1 / (square + 1e-12);
      sum += w * value;
      weight += w;
    }
    return sum / weight;
  };
}
