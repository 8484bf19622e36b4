import { normalCdf } from '../numerics/distributions.ts';
import { solveLinear } from '../numerics/orthogonal.ts';
import { rootBetween } from '../numerics/roots.ts';

/**
 * The exponentially weighted moving average of a series of standardised values, and how long such a chart runs before it
 * signals.
 *
 * With weight λ the chart's value is z_k = λ·x_k + (1 − λ)·z_(k−1), z_0 = 0; its variance after k values is
 * λ/(2 − λ)·(1 − (1 − λ)^(2k)). A signal is |z_k| beyond L of its standard deviations. λ = 1 is the Shewhart chart.
 *
 * Sources: ISO 7870-6:2016 (EWMA charts), ISO 7870-2:2013 (Shewhart charts).
 */
export interface EwmaDesign {
  /** Weight of the newest value, 0 < λ ≤ 1. */
  readonly weight: number;
  /** Limit L in standard deviations of the chart's value. */
  readonly limit: number;
}

/** The chart's value after one more value of the series. */
export function nextAverage({ weight }: EwmaDesign, value: number, before: number): number {
  return weight * value + (1 - weight) * before;
}

/** Standard deviation of the chart's value after `count` values of unit variance; `count` infinite: its final one. */
export function ewmaDeviation(weight: number, count: number): number {
  return Math.sqrt((weight / (2 - weight)) * (1 - (1 - weight) ** (2 * count)));
}

/** Numbers of inner states of the Markov chain; odd, so that one of them is the start. */
const COARSE = 61;
const FINE = 121;

/**
 * Mean number of values until a chart signals, for values that are normal with unit variance about `shift`.
 *
 * The range between the final limits is cut into states, and the chart is a Markov chain over them: with R the matrix of
 * passages between them, the run lengths are the solution of (I − R)·a = 1 (Brook and Evans 1972, Biometrika 59, 539;
 * Lucas and Saccucci 1990, Technometrics 32, 1). The chart starts at 0 and the limits are the final ones throughout.
 * The error of cutting goes as the square of a state's width, so two numbers of states give the limit of many.
 *
 * @param shift  of the mean, in standard deviations of one value
 * @throws RangeError for a weight outside (0, 1] or a limit that is not above 0
 * @example averageRunLength({ weight: 1, limit: 3 }) // 370.4
 */
export function averageRunLength({ weight, limit }: EwmaDesign, shift = 0): number {
  if (!(weight > 0 && weight <= 1))
    throw new RangeError(`averageRunLength: weight is ${weight}; a number above 0 and up to 1 is needed`);
  if (!(limit > 0)) throw new RangeError(`averageRunLength: limit is ${limit}; a number above 0 is needed`);
  if (weight === 1) return 1 / (normalCdf(-limit - shift) + normalCdf(shift - limit));
  const coarse = chainRunLength(weight, limit, shift, COARSE);
  const fine = chainRunLength(weight, limit, shift, FINE);
  return fine + (fine - coarse) / ((FINE / COARSE) ** 2 - 1);
}

/** Average run length by a Markov chain of `states` steps between the limits (Brook and Evans 1972). */
function chainRunLength(weight: number, limit: number, shift: number, states: number): number {
  const half = limit * ewmaDeviation(weight, Number.POSITIVE_INFINITY);
  const width = (2 * half) / states;
  const middle = (states - 1) / 2;
  // Without a shift a state and its mirror image have the same run length: half of them are unknown.
  const unknown = shift === 0 ? middle + 1 : states;
  const system = new Float64Array(unknown * unknown);
  for (let i = 0; i < unknown; i++) {
    const from = (1 - weight) * (-half + (i + 0.5) * width);
    let below = normalCdf((-half - from) / weight - shift);
    system[i * unknown + i] = 1;
    for (let j = 0; j < states; j++) {
      const upTo = normalCdf((-half + (j + 1) * width - from) / weight - shift);
      system[i * unknown + (j < unknown ? j : states - 1 - j)] -= upTo - below;
      below = upTo;
    }
  }
  const lengths = solveLinear(system, unknown, new Float64Array(unknown).fill(1));
  return lengths?.[middle] ?? Number.POSITIVE_INFINITY;
}

/**
 * The limit L at which a chart without a shift runs for `runLength` values on average.
 *
 * @example limitForRunLength(0.4, 500) // 3.05
 */
export function limitForRunLength(weight: number, runLength: number): number {
  // The logarithm of the run length is nearly a parabola in L.
  const excess = (limit: number) => Math.log(averageRunLength({ weight, limit }) / runLength);
  return rootBetween(excess, 0.2, 6, 1e-9);
}
