import type { Run } from '../bench/bench.ts';
import { sourceOf } from '../bench/source.ts';
import { invertSpd } from '../numerics/matrix.ts';
import { median } from '../numerics/median.ts';
import { mixtureMean } from '../numerics/mixture.ts';
import type { BenchPosterior, CoolerPosterior } from '../posterior/bench-posterior.ts';
import { type CoolerRuns, coolerRuns, sensorOffset } from '../posterior/cooler-runs.ts';
import { type CurvePosterior, factorOf, posteriorAt } from '../posterior/curve-posterior.ts';
import { limitNodes } from '../posterior/pipe-limit.ts';
import { componentFactors, runCovariance } from '../posterior/scatter.ts';
import { LEAST_WEIGHT } from '../prediction/joint-rises.ts';
import { riseDistributions } from '../prediction/rise-distribution.ts';

/** A run that has not been done. */
export interface PlannedRun {
  readonly sample: string;
  /** Fittings with one name are one; a name that no run of the bench has is fresh paste. */
  readonly mount: string;
  readonly power_W: number;
  readonly fan_rpm: number;
}

/** A cooler's runs with planned ones behind them, everything worked out that does not depend on what they will read. */
export interface ExtendedRuns {
  readonly posterior: BenchPosterior;
  readonly cooler: CoolerPosterior;
  readonly planned: readonly PlannedRun[];
  readonly data: CoolerRuns;
  readonly factors: CoolerPosterior['factors'];
  readonly factor: Float64Array;
  readonly inverse: Float64Array;
  /** Greatest heat into the base, planned runs included, W. */
  readonly seen_W: number;
}

/** What the cooler would read in a planned run at best estimate, limits of pipes left out, K. */
export function expectedRise(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  power_W: number,
  fan_rpm: number,
): number {
  const most = cooler.data.cooler.fan_max_rpm;
  const speed = most > 0 ? fan_rpm / most : 1;
  const [at] = riseDistributions(posterior, { ...cooler, limits: [] }, [{ power_W, speed }]);
  return mixtureMean(at.mean);
}

/** Appends planned runs to a cooler's own; they are taken to be done in the present session. */
export function extendRuns(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  planned: readonly PlannedRun[],
): ExtendedRuns {
  const { bench, source } = posterior;
  const own = cooler.data.runs;
  const session = posterior.sessions.at(-1);
  const offset = sensorOffset(bench, session).value_K;
  const ambient_C = bench.ambient.setpoint_C;
  const appended = planned.map(
    (one, k): Run => ({
      run: `planned-${k}`,
      cooler: cooler.data.cooler.cooler,
      sample: one.sample,
      mount: one.mount,
      source,
      power_W: one.power_W,
      fan_rpm: one.fan_rpm,
      source_C: ambient_C + offset + expectedRise(posterior, cooler, one.power_W, one.fan_rpm),
      ambient_C,
      ...(session !== undefined && { session }),
      extra: {},
      line: 0,
    }),
  );
  const data = coolerRuns(bench, cooler.data.cooler, source, [...own, ...appended]);
  if (!data) throw new RangeError('extendRuns: a cooler without runs has no posterior');
  // The curves were fitted to rises that what each session adds had been taken off.
  data.rise_K.set(cooler.data.rise_K);
  const n = data.runs.length;
  const factors = componentFactors(data, cooler.typical_K_per_W);
  const sigma = posterior.scatter.sigma.map((s, k) => (posterior.active[k] ? s : 0));
  const inverse = runCovariance(data, factors, sigma);
  const factor = factorOf(inverse, n);
  if (!invertSpd(inverse, n))
    throw new RangeError('extendRuns: the covariance of the runs cannot be inverted');
  return { posterior, cooler, planned, data, factors, factor, inverse, seen_W: Math.max(...data.base_W) };
}

/**
 * The cooler after its planned runs have read what they read: the linear-Gaussian update of every curve, scatters and priors kept.
 *
 * One Gauss–Newton step from the present mode per pass; the curves are so nearly linear in what a run moves them that two passes are exact to
 * the printed digits.
 *
 * @param rise_K  readings of the planned runs; absent: what they are expected to read
 */
export function afterRuns(extended: ExtendedRuns, rise_K?: ArrayLike<number>): CoolerPosterior {
  const { posterior, cooler, data: expected, factors, factor, inverse, seen_W } = extended;
  let data = expected;
  if (rise_K) {
    const readings = expected.rise_K.slice();
    for (let k = 0; k < rise_K.length; k++) readings[cooler.data.runs.length + k] = rise_K[k];
    data = { ...expected, rise_K: readings };
  }
  const leak = sourceOf(posterior.bench, posterior.source).leak_W_per_K.value;
  return {
    ...cooler,
    data,
    factors,
    inverse,
    curves: cooler.curves.map((curve, m) =>
      cooler.weights[m] > LEAST_WEIGHT ? updated(curve, data, leak, factor, rise_K ? 2 : 1) : curve,
    ),
    limits: cooler.limits.length > 0 ? limitNodes(data.cooler, seen_W, resistanceOf(cooler)) : [],
  };
}

/** Median of rise over heat at the runs, K/W. */
export function resistanceOf({ data }: CoolerPosterior): number {
  return Math.max(median(data.rise_K.map((rise, i) => rise / data.base_W[i])), 1e-4);
}

function updated(
  before: CurvePosterior,
  data: CoolerRuns,
  leak: number,
  factor: Float64Array,
  passes: number,
): CurvePosterior {
  const { curve, prior } = before;
  const p = before.eta.length;
  // What pulls at the present mode is left as it is, so that a run which reads what is expected moves nothing.
  const standing = pullOn(before);
  let now = posteriorAt(curve, data, leak, factor, prior, before.eta, before);
  for (let pass = 0; pass < passes; pass++) {
    const pull = pullOn(now).map((value, j) => value - standing[j]);
    const eta = now.eta.slice();
    for (let j = 0; j < p; j++) {
      let step = 0;
      for (let k = 0; k < p; k++) step += now.covariance[j * p + k] * pull[k];
      const { low, high } = curve.scales[j];
      eta[j] = Math.min(Math.max(eta[j] + step, low), high);
    }
    now = posteriorAt(curve, data, leak, factor, prior, eta, before);
  }
  return now;
}

/** Gradient of the log posterior on the fitting scale. */
function pullOn({ prior, eta, at, weightedResidual }: CurvePosterior): Float64Array {
  const p = eta.length;
  return eta.map((value, j) => {
    let pull = (prior.mean[j] - value) / prior.deviation[j] ** 2;
    for (let i = 0; i < weightedResidual.length; i++) pull += at.jacobian[i * p + j] * weightedResidual[i];
    return pull;
  });
}
