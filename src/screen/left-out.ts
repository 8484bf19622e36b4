import type { Bench, Run } from '../bench/bench.ts';
import { sourceOf } from '../bench/source.ts';
import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { COMPONENTS, READING } from '../fit/components.ts';
import type { CoolerRuns } from '../fit/cooler-runs.ts';
import type { CurvePosterior } from '../fit/curve-posterior.ts';
import type { CurveValues } from '../fit/rise-curve.ts';
import { componentFactors } from '../fit/scatter.ts';
import { type Part, partOf, squaresOn } from '../numerics/covariance-parts.ts';
import { satterthwaite } from '../numerics/degrees-of-freedom.ts';
import { cholesky, invertInformation, product, solveLower, solveUpperT } from '../numerics/matrix.ts';
import { ofRows, precisionOf } from '../numerics/rows-of-covariance.ts';
import { CovarianceLayout, type SplitCovariance } from '../numerics/split-covariance.ts';
import { curveAt, formulasThatCount, isHeld, LEAST_HEAT_W } from '../predict/joint-rises.ts';
import { pointOfRun } from '../predict/rise-point.ts';
import { sessionShifts } from './as-in-one-session.ts';

/**
 * Readings as one Gaussian before any of them. Leaving any set of them out is then conditioning on the others, without a refit.
 *
 * Source: deleted residuals: Cook and Weisberg (1982), Residuals and Influence in Regression.
 */
export class Readings {
  private readonly departure_K: Float64Array;
  private readonly layout: CovarianceLayout;
  private readonly variances: Float64Array;
  private readonly covariance: SplitCovariance;
  private last: Among | undefined;

  /**
   * @param departure_K  readings less their means
   * @param variances  σ_k² of the layout's components
   * @throws RangeError where the covariance is not positive definite
   */
  constructor(departure_K: Float64Array, layout: CovarianceLayout, variances: Float64Array) {
    this.departure_K = departure_K;
    this.layout = layout;
    this.variances = variances;
    const covariance = layout.at(variances);
    if (!covariance) throw new RangeError('the readings have no spread of their own');
    this.covariance = covariance;
  }

  /** The same readings with other variances. */
  under(variances: Float64Array): Readings {
    return new Readings(this.departure_K, this.layout, variances);
  }

  /** Only some of them, the others not read: those of the last call are kept, since block after block is left out of the same. */
  among(rows: readonly number[]): Among {
    const { last, departure_K } = this;
    if (last && last.rows.length === rows.length && rows.every((row, r) => last.rows[r] === row)) return last;
    const isAll = rows.length === departure_K.length;
    const covariance = isAll ? this.covariance : ofRows(this.covariance, rows);
    if (!covariance) throw new RangeError('the readings have no spread of their own');
    let parts: Part[] | undefined;
    const place = new Map(rows.map((row, r) => [row, r]));
    this.last = {
      rows,
      covariance,
      place,
      pulled: covariance.solve(Float64Array.from(rows, (row) => departure_K[row])),
      parts: () => {
        parts ??= this.layout.roles.map((role) => {
          const own =
            role.kind === 'own'
              ? { ...role, squares: Float64Array.from(rows, (row) => role.squares[row]) }
              : role;
          return partOf(own, covariance, this.variances);
        });
        return parts;
      },
    };
    return this.last;
  }
}

/** Some readings together. */
export interface Among {
  readonly rows: readonly number[];
  readonly covariance: SplitCovariance;
  /** Where each row stands among them. */
  readonly place: ReadonlyMap<number, number>;
  /** V⁻¹·departure. */
  readonly pulled: Float64Array;
  readonly parts: () => readonly Part[];
}

/** All runs of one cooler under one fitted formula: those the fit has seen and those set aside. */
export interface JointRuns {
  /** Weight of the formula; those of a cooler add to 1. */
  readonly weight: number;
  readonly fitted: CurvePosterior;
  /** The curve at the runs. */
  readonly at: CurveValues;
  readonly data: CoolerRuns;
  readonly leak_W_per_K: number;
  readonly readings: Readings;
}

/**
 * The joint Gaussians of a cooler's readings, one a formula that counts; what the sessions added and what is unknown of it included.
 *
 * A reading is the curve at its load with its prior, what its specimen, its fitting and the departure from the formula add at that load, and a
 * scatter of its own, as in `jointRises` before any run.
 *
 * @param clean  posterior without the suspects
 * @param data  all runs of the cooler, suspects included, with their rises as read
 */
export function jointRuns(clean: BenchPosterior, cooler: CoolerPosterior, data: CoolerRuns): JointRuns[] {
  const session = sessionShifts(clean, data);
  const points = data.runs.map((_, i) => pointOfRun(data, i));
  const variances = readingVariances(clean);
  return formulasThatCount(cooler, points).map(({ fitted, weight }) => {
    const at = curveAt(clean, cooler, fitted, points);
    const p = fitted.eta.length;
    const here = { ...data, base_W: at.base_W.map((heat) => Math.max(heat, LEAST_HEAT_W)) };
    const factors = componentFactors(here, cooler.typical_K_per_W, cooler.shapeScale, at.loading_W);
    const z = new Float64Array(data.runs.length * (p + session.unknown.columns));
    const departure_K = data.rise_K.map((rise, i) => {
      let off = rise - at.rise_K[i] - session.shift_K[i];
      for (let j = 0; j < p; j++) {
        if (isHeld(fitted, j)) continue;
        off -= at.jacobian[i * p + j] * (fitted.prior.mean[j] - fitted.eta[j]);
      }
      return off;
    });
    const width = p + session.unknown.columns;
    for (let i = 0; i < data.runs.length; i++) {
      for (let j = 0; j < p; j++) {
        if (!isHeld(fitted, j)) z[i * width + j] = at.jacobian[i * p + j] * fitted.prior.deviation[j];
      }
      for (let c = p; c < width; c++) z[i * width + c] = session.unknown.z[i * (width - p) + c - p];
    }
    const layout = new CovarianceLayout(
      data.runs.length,
      factors.map((factor, k) => (clean.active[k] ? factor : undefined)),
      { noise: data.known_K.map((u) => u * u), known: { z, columns: width } },
    );
    return {
      weight,
      fitted,
      at,
      data,
      leak_W_per_K: sourceOf(clean.bench, clean.source).leak_W_per_K.value,
      readings: new Readings(departure_K, layout, variances),
    };
  });
}

/** σ_k² of a bench's readings, that of single readings at least what their last digits allow. */
export function readingVariances({ bench, scatter }: BenchPosterior): Float64Array {
  const variances = Float64Array.from(scatter.sigma, (s) => s * s);
  variances[READING] = Math.max(variances[READING], roundingVariance(bench));
  return variances;
}

/** Readings without any scatter, as arithmetic makes them, still have this much, K². */
const LEAST_VARIANCE_K2 = 1e-6;

/** No rise is known better than by the last digits of its two sensors, each even over a resolution (JCGM 100:2008, F.2.2.1), K². */
function roundingVariance({ instruments: { source_temperature, ambient_temperature } }: Bench): number {
  const squares = source_temperature.resolution_K ** 2 + ambient_temperature.resolution_K ** 2;
  return Math.max(squares / 12, LEAST_VARIANCE_K2);
}

/** Readings as others have them. */
export interface Deleted {
  /** Deleted residual of each, K. */
  readonly residual_K: Float64Array;
  /** Lower Cholesky factor of their conditional covariance, m × m. */
  readonly factor: Float64Array;
}

/** A block of runs as the others have it. */
export interface LeftOut extends Deleted {
  readonly joint: JointRuns;
  /** Row numbers of the block. */
  readonly block: readonly number[];
  /** The block and the runs that judge it. */
  readonly among: Among;
}

/**
 * Leaves a block of runs out and lets the others predict it.
 *
 * @param trusted  runs that may judge; those of the block never do
 */
export function leaveOut(
  joint: JointRuns,
  block: readonly number[],
  trusted: (run: Run) => boolean,
): LeftOut {
  const rows = joint.data.runs.flatMap((run, i) => (block.includes(i) || trusted(run) ? [i] : []));
  return { joint, block, among: joint.readings.among(rows), ...deleted(joint.readings, block, rows) };
}

/**
 * Deleted residuals of some readings: with Ω the precision of all, the block given the others has covariance Ω_BB⁻¹ and is off by
 * Ω_BB⁻¹·(Ω·departure)_B.
 *
 * @param rows  the block and the readings that judge it
 * @throws RangeError where the covariance is not positive definite
 */
export function deleted(readings: Readings, block: readonly number[], rows: readonly number[]): Deleted {
  const { covariance, place, pulled } = readings.among(rows);
  const at = block.map((row) => place.get(row) as number);
  const m = at.length;
  const factor = precisionOf(covariance, at);
  // What the others do not tell at all is off by up to a million kelvin.
  if (!invertInformation(factor, m, 1e-12))
    throw new RangeError('leaveOut: the block has no spread of its own');
  const residual_K = product(
    factor,
    Float64Array.from(at, (r) => pulled[r]),
    m,
    m,
  );
  if (!cholesky(factor, m)) throw new RangeError('leaveOut: the block has no spread of its own');
  return { residual_K, factor };
}

/** A deleted residual in one direction. */
export interface DirectionTest {
  /** Residual along the direction over its standard deviation. */
  readonly t: number;
  /** Degrees of freedom of the scatter in it. */
  readonly freedom: number;
}

/**
 * The most telling contrast for a shift along `direction`: the generalised least squares estimate of the shift's size over its standard deviation.
 *
 * @param direction  shift of each run of the block for one unit of the fault, K
 */
export function testAlong(clean: BenchPosterior, left: LeftOut, direction: ArrayLike<number>): DirectionTest {
  const m = left.block.length;
  const weights = Float64Array.from(direction);
  solveLower(left.factor, m, weights);
  const variance = weights.reduce((sum, w) => sum + w * w, 0);
  solveUpperT(left.factor, m, weights);
  let top = 0;
  for (let b = 0; b < m; b++) top += weights[b] * left.residual_K[b];
  // The contrast of all runs is Ω·direction, and its variance answers to each scatter by what that has in it.
  const { covariance, place, parts } = left.among;
  const rows = left.block.map((row) => place.get(row) as number);
  const response = squaresOn(parts(), covariance, rows, direction, COMPONENTS.length);
  return {
    t: variance > 0 ? top / Math.sqrt(variance) : 0,
    freedom: satterthwaite(variance, response, clean.scatter.logVarianceCovariance),
  };
}

/** log N(residual; 0, S), less the constants that every shift of the block shares. */
export function logDensityOf(left: LeftOut): number {
  const scaled = left.residual_K.slice();
  solveLower(left.factor, scaled.length, scaled);
  return -scaled.reduce((sum, value) => sum + value * value, 0) / 2;
}
