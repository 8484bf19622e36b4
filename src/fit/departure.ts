import type { Columns } from '../numerics/split-covariance.ts';
import { SPEED } from './components.ts';
import type { CoolerRuns } from './cooler-runs.ts';

/**
 * Range in ln(load) and in ln(speed) over which a curve's departure from its formula keeps its sign.
 * Chosen: a doubling.
 */
const SHAPE_RANGE_LOAD = 0.7;
const SHAPE_RANGE_SPEED = 0.7;

/** An operating point: heat into the base, fan and pump speed over the cooler's greatest. */
export interface OperatingPoint {
  readonly base_W: number;
  readonly speed: number;
  /** 1 where absent. */
  readonly pump?: number;
}

/**
 * Covariance of a cooler's departures from a formula at two operating points, for σ = 1 and a resistance of 1 K/W.
 *
 * `SHAPE` is a smooth process that comes back to the formula within about a factor of two in load or speed. `SPEED` is a
 * cubic smoothing spline over ln(speed), of the fan and of the pump, a curve whose bend is white noise (Wahba 1978, JRSS B 40, 364): with u the
 * smaller and v the greater distance from full speed, u²(3v − u)/6. Between speeds that were run it is next to nothing; away
 * from them it grows with the distance to the power of 3/2, as what nobody has measured does.
 */
export function departureCovariance(component: number, a: OperatingPoint, b: OperatingPoint): number {
  return departureBetween(component, logarithmsOf(a), logarithmsOf(b));
}

/** An operating point's logarithms, taken once where it is set against many others. */
export interface LogarithmicPoint {
  readonly load: number;
  readonly fan: number;
  readonly pump: number;
}

export function logarithmsOf({ base_W, speed, pump = 1 }: OperatingPoint): LogarithmicPoint {
  return { load: Math.log(base_W), fan: Math.log(speed), pump: Math.log(pump) };
}

/** {@link departureCovariance} of points by their logarithms. */
export function departureBetween(component: number, a: LogarithmicPoint, b: LogarithmicPoint): number {
  if (component === SPEED) return spline(a.fan, b.fan) + spline(a.pump, b.pump);
  const load = (a.load - b.load) / SHAPE_RANGE_LOAD;
  const fan = (a.fan - b.fan) / SHAPE_RANGE_SPEED;
  return Math.exp(-(load * load + fan * fan) / 2);
}

/**
 * How far the resistance of a cooler with heat pipes may bend away from what its formulas say below the least heat run, as a share of its
 * resistance: standard deviation at half of that heat, where pipes that have hardly started carry less (an assumption).
 */
const START_SHARE = 0.06;

/**
 * Covariance of that departure at two heats, for a resistance of 1 K/W: that of `SPEED`'s spline over ln(heat) below the least heat run. It is nothing
 * from the least heat on, so that no run tells of it.
 *
 * @param least_W  least heat into the base that was run
 */
export function startCovariance(
  a: Pick<LogarithmicPoint, 'load'>,
  b: Pick<LogarithmicPoint, 'load'>,
  least_W: number,
): number {
  const least = Math.log(least_W);
  if (a.load >= least || b.load >= least) return 0;
  const half = Math.log(2) ** 3 / 3;
  return (START_SHARE ** 2 / half) * spline(a.load - least, b.load - least);
}

/** Covariance of a curve at x and y whose second derivative is white noise, and which is 0 and level at 0. */
function spline(x: number, y: number): number {
  if (x * y <= 0) return 0;
  const u = Math.min(Math.abs(x), Math.abs(y));
  const v = Math.max(Math.abs(x), Math.abs(y));
  return (u * u * (3 * v - u)) / 6;
}

/**
 * How many times its typical resistance a cooler has at a speed, by the power that its runs show. The departure over speed is a share of the
 * resistance that there is at that speed: for a cooler that is steep in speed two or three times that at full.
 *
 * @example growthAt({ fan: Math.log(0.4) }, { growth: 1, middleSpeed: 0.8 }) // 2
 */
export function growthAt(
  { fan }: Pick<LogarithmicPoint, 'fan'>,
  { growth, middleSpeed }: Pick<CoolerRuns, 'growth' | 'middleSpeed'>,
): number {
  return growth === 0 ? 1 : Math.exp(growth * (Math.log(middleSpeed) - fan));
}

/**
 * Factor of a departure's covariance by pivoted Cholesky, stopped where nothing is left: the kernels are so smooth that a
 * bench with four loads needs four or five columns, however many its runs.
 */
export function departureFactor(
  component: number,
  data: CoolerRuns,
  typical_K_per_W: number,
  loading_W: Float64Array,
): Columns {
  const n = data.runs.length;
  const pumps = data.more.get('q');
  const points = data.runs.map((_, i) =>
    logarithmsOf({ base_W: data.base_W[i], speed: data.speed[i], pump: pumps?.[i] }),
  );
  const remaining = Float64Array.from(points, (point) => departureBetween(component, point, point));
  const columns: Float64Array[] = [];
  while (columns.length < n) {
    let pivot = 0;
    for (let i = 1; i < n; i++) if (remaining[i] > remaining[pivot]) pivot = i;
    if (remaining[pivot] < 1e-8) break;
    const root = Math.sqrt(remaining[pivot]);
    const column = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      let value = departureBetween(component, points[i], points[pivot]);
      for (const before of columns) value -= before[i] * before[pivot];
      column[i] = value / root;
      remaining[i] = Math.max(0, remaining[i] - column[i] * column[i]);
    }
    remaining[pivot] = 0;
    columns.push(column);
  }
  const z = new Float64Array(n * columns.length);
  const scale = points.map((point, i) => {
    const grown = component === SPEED ? growthAt(point, data) : 1;
    return typical_K_per_W * grown * loading_W[i];
  });
  columns.forEach((column, c) => {
    for (let i = 0; i < n; i++) z[i * columns.length + c] = scale[i] * column[i];
  });
  return { z, columns: columns.length };
}
