import { normalCdf } from '../numerics/distributions.ts';
import { type ExponentialFit, type ExponentialMode, mostParameters } from './exponential-fit.ts';

/** One description of a response that the data allow, with its weight. */
export interface MixtureComponent {
  readonly logWeight: number;
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

const gradientRoom = new Float64Array(mostParameters);
const logTwoPi = Math.log(2 * Math.PI);

/** After a step from a settled state every element moves the same way; one time in twenty the state was not settled. */
const overshootDoubt = 3;

function overshoots(mode: ExponentialMode): boolean {
  const { amplitudes_K, terms } = mode;
  let largest = 0;
  for (let i = 0; i < terms; i++)
    if (Math.abs(amplitudes_K[i]) > Math.abs(largest)) largest = amplitudes_K[i];
  return amplitudes_K[terms - 1] * largest < 0;
}

/**
 * A mode as a component: its evidence, its asymptote and how much of the response is still missing in the window.
 *
 * Priors: asymptote flat, amplitudes normal with the swing as standard deviation, logarithms of the time constants
 * uniform over their range in ascending order.
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
  if (terms > 1 && overshoots(mode)) logWeight -= overshootDoubt;
  const gradient = gradientRoom;
  const taus: number[] = [];
  const amplitudes: number[] = [];
  let short = 0;
  const span = windowTo - windowFrom;
  for (let i = 0; i < terms; i++) {
    const tau = Math.exp(mode.logTaus[i]);
    const amplitude = mode.amplitudes_K[i];
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
  let shortVariance = 0;
  for (let i = 1; i < size; i++) {
    for (let j = 1; j < size; j++) shortVariance += gradient[i] * gradient[j] * covariance[i * size + j];
  }
  return {
    logWeight,
    weight: 1,
    rise: mode.rise_K,
    variance: scale * covariance[0],
    short,
    shortVariance: scale * Math.max(0, shortVariance),
    taus,
    amplitudes,
  };
}

/** The same description with another weight, its asymptote moved by `shift` K. */
export function moved(component: MixtureComponent, logWeight: number, shift: number): MixtureComponent {
  return {
    logWeight: component.logWeight + logWeight,
    weight: 1,
    rise: component.rise + shift,
    variance: component.variance,
    short: component.short + shift,
    shortVariance: component.shortVariance,
    taus: component.taus,
    amplitudes: component.amplitudes,
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

/** Working room of {@link mixtureHalfWidth}: of each component that counts, its place, its standard deviation, its weight. */
const room = {
  count: 0,
  place: new Float64Array(64),
  sigma: new Float64Array(64),
  weight: new Float64Array(64),
};

/** Half-width about `centre` that holds 95 % of the mixture, each component widened by `extra` variance. */
export function mixtureHalfWidth(
  components: readonly MixtureComponent[],
  centre: number,
  extra: number,
): number {
  keepWhatCounts(components, centre, extra);
  const { count, place, sigma, weight } = room;
  let low = 0;
  let high = 0;
  let spread = 0;
  for (let i = 0; i < count; i++) {
    high = Math.max(high, Math.abs(place[i]) + 2.5 * sigma[i]);
    spread += weight[i] * (sigma[i] * sigma[i] + place[i] * place[i]);
  }
  // Newton's method on the tail's logarithm, kept inside the bracket.
  let half = Math.min(high, 1.96 * Math.sqrt(spread));
  for (let i = 0; i < 30; i++) {
    const tail = outside(half);
    if (tail > 0.05) low = half;
    else high = half;
    const next = half + (tail * Math.log(tail / 0.05)) / densityAt(half);
    const step = next > low && next < high ? next : 0.5 * (low + high);
    if (Math.abs(step - half) < 1e-6 * half) return step;
    half = step;
  }
  return half;
}

function keepWhatCounts(components: readonly MixtureComponent[], centre: number, extra: number): void {
  if (room.place.length < components.length) {
    room.place = new Float64Array(2 * components.length);
    room.sigma = new Float64Array(2 * components.length);
    room.weight = new Float64Array(2 * components.length);
  }
  let count = 0;
  for (let i = 0; i < components.length; i++) {
    const component = components[i];
    if (!(component.weight > 1e-5)) continue;
    room.place[count] = component.rise - centre;
    room.sigma[count] = Math.sqrt(component.variance + extra);
    room.weight[count] = component.weight;
    count++;
  }
  room.count = count;
}

/** Share of the mixture further than `half` from the centre. */
function outside(half: number): number {
  const { count, place, sigma, weight } = room;
  let sum = 0;
  for (let i = 0; i < count; i++) {
    sum += weight[i] * (normalCdf((place[i] - half) / sigma[i]) + normalCdf((-place[i] - half) / sigma[i]));
  }
  return sum;
}

/** How fast {@link outside} falls with `half`. */
function densityAt(half: number): number {
  const { count, place, sigma, weight } = room;
  let sum = 0;
  for (let i = 0; i < count; i++) {
    const near = (half - place[i]) / sigma[i];
    const far = (half + place[i]) / sigma[i];
    sum += (weight[i] * (Math.exp(-0.5 * near * near) + Math.exp(-0.5 * far * far))) / sigma[i];
  }
  return sum / Math.sqrt(2 * Math.PI);
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
