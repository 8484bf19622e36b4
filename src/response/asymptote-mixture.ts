import { normalCdf } from '../numerics/distributions.ts';
import { quadraticForm } from '../numerics/matrix.ts';
import { rootBetween } from '../numerics/roots.ts';
import type { ExponentialFit, ExponentialMode } from './exponential-fit.ts';

/** One description of a response that the data allow, with its weight. */
export interface MixtureComponent {
  logWeight: number;
  /** Normalised by {@link mixtureMean}. */
  weight: number;
  readonly rise: number;
  readonly variance: number;
  /** Asymptote less the mean over the last window. */
  readonly short: number;
  readonly shortVariance: number;
  readonly taus: readonly number[];
  readonly amplitudes: readonly number[];
}

const logTwoPi = Math.log(2 * Math.PI);

/** After a step from a settled state every element moves the same way; one time in twenty the state was not settled (an assumption). */
const unsettled = 0.05;

/**
 * A mode as a component: its evidence, its asymptote and how much of the response is still missing in the window.
 *
 * Priors: asymptote flat, amplitudes normal with the swing as standard deviation, logarithms of the time constants
 * uniform over their range in ascending order. All elements move the same way unless the step began from an unsettled state, so the
 * slowest amplitude, which the data tell least of, is cut off at zero: mean and variance of the asymptote are those of what is left.
 *
 * @param spacing  0: all time constants integrated by Laplace; else the spacing of the slowest one's grid
 */
export function componentOf(
  mode: ExponentialMode,
  scale: number,
  fit: ExponentialFit,
  spacing: number,
  logPrior: number,
  windowFrom: number,
  windowTo: number,
): MixtureComponent {
  const { terms, size, covariance } = mode;
  let logWeight =
    logPrior - 0.5 * (mode.chiSquare / scale) - 0.5 * (mode.logDeterminant - size * Math.log(scale));
  logWeight +=
    0.5 * (size - 1 - terms) * logTwoPi - terms * (Math.log(fit.swing_K) + Math.log(fit.high - fit.low));
  for (let i = 2; i <= terms; i++) logWeight += Math.log(i);
  if (spacing > 0) logWeight += Math.log(spacing);
  const gradient = new Float64Array(size);
  const taus: number[] = [];
  const amplitudes: number[] = [];
  let short = 0;
  let largest = 0;
  const span = windowTo - windowFrom;
  for (let i = 0; i < terms; i++) {
    const tau = Math.exp(mode.logTaus[i]);
    const amplitude = mode.amplitudes_K[i];
    if (Math.abs(amplitude) > Math.abs(largest)) largest = amplitude;
    taus.push(tau);
    amplitudes.push(amplitude);
    const start = Math.exp(-windowFrom / tau);
    const stop = Math.exp(-windowTo / tau);
    const mean = (tau * (start - stop)) / span;
    short -= amplitude * mean;
    gradient[i + 1] = -mean;
    // Those that are free come first.
    if (1 + terms + i < size) {
      const slope = mean + (windowFrom * start - windowTo * stop) / span;
      gradient[1 + terms + i] = -amplitude * slope;
    }
  }
  const shortVariance = scale * Math.max(0, quadraticForm(gradient, covariance));
  const whole: MixtureComponent = {
    logWeight,
    weight: 1,
    rise: mode.rise_K,
    variance: scale * covariance[0],
    short,
    shortVariance,
    taus,
    amplitudes,
  };
  return terms > 1 ? withOneWay(whole, mode, scale, gradient, Math.sign(largest)) : whole;
}

/** The component with its slowest amplitude cut off at zero, but for the chance that the state was not settled. */
function withOneWay(
  component: MixtureComponent,
  { terms, size, covariance }: ExponentialMode,
  scale: number,
  gradient: Float64Array,
  way: number,
): MixtureComponent {
  const sigma = Math.sqrt(scale * covariance[terms * size + terms]);
  const z = (way * component.amplitudes[terms - 1]) / sigma;
  if (z >= 5) return component;
  const right = normalCdf(z);
  const either = unsettled + (1 - unsettled) * right;
  // Moments of a normal pair of which one is cut off.
  const excess = z > -8 ? Math.exp(-0.5 * z * z) / (Math.sqrt(2 * Math.PI) * right) : -z;
  const kept = ((1 - unsettled) * right) / either;
  let withShort = 0;
  for (let i = 1; i < size; i++) withShort += gradient[i] * covariance[i * size + terms];
  const slope = (scale * covariance[terms]) / sigma;
  const slopeOfShort = (scale * withShort) / sigma;
  const fall = kept * Math.min(1, excess * (excess + z));
  const { logWeight, rise, variance, short, shortVariance } = component;
  return {
    ...component,
    logWeight: logWeight + Math.log(either),
    rise: rise + kept * way * slope * excess,
    variance: Math.max(0.02 * variance, variance - slope * slope * fall),
    short: short + kept * way * slopeOfShort * excess,
    shortVariance: Math.max(0, shortVariance - slopeOfShort * slopeOfShort * fall),
  };
}

/** Normalises the weights in place and gives the means. */
export function mixtureMean(components: MixtureComponent[]): { rise: number; short: number; shortU: number } {
  const count = components.length;
  let top = -Infinity;
  for (let i = 0; i < count; i++) top = Math.max(top, components[i].logWeight);
  let total = 0;
  let rise = 0;
  let short = 0;
  for (let i = 0; i < count; i++) {
    const component = components[i];
    const weight = Math.exp(component.logWeight - top);
    component.weight = weight;
    total += weight;
    rise += weight * component.rise;
    short += weight * component.short;
  }
  rise /= total;
  short /= total;
  let variance = 0;
  for (let i = 0; i < count; i++) {
    const component = components[i];
    component.weight /= total;
    variance += component.weight * (component.shortVariance + (component.short - short) ** 2);
  }
  return { rise, short, shortU: Math.sqrt(variance) };
}

/**
 * Median of the mixture and the half-width about it that holds 95 %, each component widened by `extra` variance. The median, as what a
 * log does not exclude lies mostly on one side.
 */
export function mixtureInterval(
  components: readonly MixtureComponent[],
  mean: number,
  extra: number,
): { centre: number; halfWidth: number } {
  const counting = components.filter(({ weight }) => weight > 1e-5);
  const sigma = counting.map(({ variance }) => Math.sqrt(variance + extra));
  const spread = Math.sqrt(
    counting.reduce((sum, { weight, rise }, i) => sum + weight * (sigma[i] ** 2 + (rise - mean) ** 2), 0),
  );
  const below = (place: number) =>
    counting.reduce((sum, { weight, rise }, i) => sum + weight * normalCdf((place - rise) / sigma[i]), 0);
  const tolerance = 1e-6 * spread;
  const centre = rootBetween((x) => below(x) - 0.5, mean - 2 * spread, mean + 2 * spread, tolerance);
  const inside = (half: number) => below(centre + half) - below(centre - half);
  return { centre, halfWidth: rootBetween((x) => inside(x) - 0.95, 0, 20 * spread, tolerance) };
}

/** Probability that the window's mean is within `limit` of the asymptote. */
export function probabilityWithin(components: readonly MixtureComponent[], limit: number): number {
  let sum = 0;
  for (let i = 0; i < components.length; i++) {
    const { short, shortVariance, weight } = components[i];
    const sigma = Math.sqrt(shortVariance) + 1e-12;
    sum += weight * (normalCdf((limit - short) / sigma) - normalCdf((-limit - short) / sigma));
  }
  return sum;
}
