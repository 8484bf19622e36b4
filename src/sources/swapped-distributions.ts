import { heatIntoBase } from '../bench/run.ts';
import { sourceOf } from '../bench/source.ts';
import { solveLower } from '../numerics/matrix.ts';
import { mixtureMean, type NormalMixture } from '../numerics/mixture.ts';
import type { BenchPosterior, CoolerPosterior } from '../posterior/bench-posterior.ts';
import { MOUNT, READING, SAMPLE } from '../posterior/scatter.ts';
import { PASTE, sharedErrorCount } from '../posterior/shared-error-order.ts';
import type { RiseMoments, RisePoint } from '../prediction/joint-rises.ts';
import { type RiseDistribution, riseDistributions } from '../prediction/rise-distribution.ts';
import type { SwappedDistribution } from '../prediction/swapped-source.ts';
import { type HeatPoint, risesAtHeat } from './chip-runs.ts';
import { product, type SourceTerm } from './source-term.ts';

/**
 * The rise of a cooler on another source: its heater curve at the same heat, plus the source's term.
 *
 * With Q the heat into the base, Q + G·rise = P, the rise is H(Q) + Q·(Δ + b). What the runs on the source say of Δ, of their
 * shared errors and, where this cooler was run there, of b and of H itself moves the middle by aᵀr, a = V⁻¹k. The error that is
 * left is linear in the shared errors (sensitivities aᵀZ − ζ) and in the runs' own errors, made independent by their
 * factor B: those are in every cooler's prediction, so they are carried as shared errors too and nearly cancel in
 * comparisons. What remains is this cooler's alone: the heater curve's mixture, less what its own runs on the source explain.
 *
 * @param index  of the cooler among the heater's
 */
export function swappedDistributions(
  term: SourceTerm,
  index: number,
  asked: readonly RisePoint[],
): SwappedDistribution[] {
  const { heater, leak_W_per_K, runs } = term;
  const cooler = heater.coolers[index];
  const delta = term.prior.value_K_per_W(cooler.data.cooler);
  const power_W = asked.map((point) => point.power_W);
  const points = asked.map(({ power_W: base_W, ...point }): HeatPoint => ({ ...point, base_W }));
  settleHeat(heater, cooler, points, power_W, leak_W_per_K, delta);
  const own = runs.cooler.flatMap((c, i) => (c === index ? [i] : []));
  const joint = risesAtHeat(heater, cooler, [...own.map((i) => runs.points[i]), ...points]);
  const heaterLeak = sourceOf(heater.bench, 'heater').leak_W_per_K.value;
  const heaterLoads = points.map(({ base_W }, t) => base_W + heaterLeak * joint.mean[own.length + t]);
  const onHeater = riseDistributions(
    heater,
    cooler,
    asked.map((point, t) => ({ ...point, power_W: heaterLoads[t] })),
  );
  return power_W.map((power, t) =>
    swapOne(term, index, own, joint, own.length + t, points[t].base_W, power, delta, onHeater[t]),
  );
}

/** Heat into the base at each load, leak solved for, in place. */
export function settleHeat(
  heater: BenchPosterior,
  cooler: CoolerPosterior,
  points: HeatPoint[],
  power_W: readonly number[],
  leak: number,
  delta: number,
): void {
  // The leak takes a hundredth or two of a kelvin's worth back at each step: four steps are more than enough.
  for (let step = 0; leak !== 0 && step < 4; step++) {
    const rise = risesAtHeat(heater, cooler, points).mean;
    points.forEach((point, t) => {
      points[t] = { ...point, base_W: heatIntoBase(power_W[t], rise[t] + point.base_W * delta, leak) };
    });
  }
}

function swapOne(
  term: SourceTerm,
  index: number,
  own: readonly number[],
  joint: RiseMoments,
  t: number,
  heat: number,
  power: number,
  delta: number,
  onHeater: RiseDistribution,
): SwappedDistribution {
  const { heater, leak_W_per_K, shared, runs } = term;
  const size = joint.mean.length;
  const n = runs.residual_K.length;
  const slope = joint.slope_K_per_W[t] + delta;
  const damping = 1 / (1 + leak_W_per_K * slope);
  const rise = joint.mean[t] + heat * delta;
  const variance = term.coolerVariance[index];

  const mean = errorsOfMean(term, index, joint, t, heat, rise);
  const run = mean.slice();
  run[shared.sensor] += 1;
  run[shared.power] += power * slope * damping;
  run[shared.pasteOf.get(term.presentSession) ?? PASTE] += damping * heat;

  const withOwn = new Float64Array(n);
  own.forEach((i, k) => {
    withOwn[i] = damping * (joint.covariance[t * size + k] + variance * heat * runs.points[i].base_W);
  });
  const white = withOwn.slice();
  solveLower(term.ownFactor, n, white);
  const atMean = condition(term, mean, withOwn, white);
  const atRun = condition(term, run, withOwn, white);

  const before = damping ** 2 * (joint.covariance[t * size + t] + variance * heat * heat);
  const explained = white.reduce((sum, w) => sum + w * w, 0);
  const left = Math.sqrt(Math.min(1, Math.max(1 - explained / before, 1e-6)));
  const extra = variance * heat * heat;
  const { sigma } = heater.scatter;
  const loading = damping * heat;
  return {
    power_W: power,
    mean: moved(onHeater.mean, rise + atMean.shift_K, left * damping, extra),
    runShift_K: atRun.shift_K - atMean.shift_K,
    freshVariance_K2: (sigma[SAMPLE] ** 2 + sigma[MOUNT] ** 2) * loading ** 2 + sigma[READING] ** 2,
    meanFreedom: onHeater.meanFreedom,
    runFreedom: onHeater.runFreedom,
    scatterShares: onHeater.scatterShares,
    meanSensitivity: atMean.sensitivity,
    runSensitivity: atRun.sensitivity,
    slope_K_per_W: slope * damping,
    speedSlope_K: onHeater.speedSlope_K * damping,
    loading_W: loading,
  };
}

/** Effect of each shared error on a cooler's true rise at a point of `joint`, S. */
export function errorsOfMean(
  { heater, leak_W_per_K, prior, shared }: SourceTerm,
  index: number,
  joint: RiseMoments,
  t: number,
  heat_W: number,
  rise_K: number,
): Float64Array {
  const { cooler } = heater.coolers[index].data;
  const slope = joint.slope_K_per_W[t] + prior.value_K_per_W(cooler);
  const damping = 1 / (1 + leak_W_per_K * slope);
  const out = new Float64Array(shared.count);
  const heaterErrors = sharedErrorCount(heater.sessions);
  for (let k = 0; k < heaterErrors; k++) out[k] = -damping * joint.sensitivity[t * heaterErrors + k];
  out[shared.term] = damping * heat_W;
  out[shared.base] = damping * heat_W * prior.baseEffect_K_per_W(cooler);
  out[shared.leak] = -slope * rise_K * damping;
  return out;
}

/** What the runs move a target by, and how its error answers to the shared errors and to the runs' own. */
function condition(
  term: SourceTerm,
  zeta: Float64Array,
  withOwn: Float64Array,
  white: Float64Array,
): { shift_K: number; sensitivity: Float64Array } {
  const { runs, uncertainty, inverse, ownFactor } = term;
  const { design, residual_K } = runs;
  const n = residual_K.length;
  const count = uncertainty.length;
  const k = withOwn.slice();
  for (let i = 0; i < n; i++) {
    for (let c = 0; c < count; c++) k[i] += design[i * count + c] * uncertainty[c] ** 2 * zeta[c];
  }
  const a = product(inverse, k);
  const sensitivity = new Float64Array(count + n);
  let shift_K = 0;
  for (let c = 0; c < count; c++) sensitivity[c] = -zeta[c];
  for (let j = 0; j < n; j++) sensitivity[count + j] = -white[j];
  for (let i = 0; i < n; i++) {
    shift_K += a[i] * residual_K[i];
    for (let c = 0; c < count; c++) sensitivity[c] += a[i] * design[i * count + c];
    for (let j = 0; j <= i; j++) sensitivity[count + j] += a[i] * ownFactor[i * n + j];
  }
  return { shift_K, sensitivity };
}

/** A mixture about another middle, its shape scaled, with more variance in each part before scaling. */
function moved(mixture: NormalMixture, middle: number, scale: number, extra: number): NormalMixture {
  const mean = mixtureMean(mixture);
  return {
    weight: mixture.weight,
    mean: mixture.mean.map((m) => middle + scale * (m - mean)),
    deviation: mixture.deviation.map((d) => scale * Math.sqrt(d * d + extra)),
  };
}
