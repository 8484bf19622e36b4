/**
 * Whether the bases' unevenness can explain what the bench saw between two coolers.
 *
 * Both had the same kind of paste, so the pastes' spread does not add but scales the difference of the two gaps. If
 * the range of that difference meets the interval of the observed one, unevenness can explain it. That it can does not mean
 * that it did: the readings of a gauge are a bound, and other causes may be as large.
 */
export type Explained = 'all' | 'part' | 'less than expected' | 'none' | 'opposite' | 'nothing to explain';

export interface GapCost {
  cooler: string;
  rise_K: number;
  rise_low_K: number;
  rise_high_K: number;
}

/** What unevenness would make of the difference of two coolers, beside the one observed. */
export interface Explanation {
  verdict: Explained;
  /** Rise of a less that of b through the unevenness alone, K. */
  expected_K: number;
  low_K: number;
  high_K: number;
  /** Expected over observed; null when the observed is 0. */
  share: number | null;
  sentence: string;
}

/**
 * @param a, b       rows of {@link flatness} for the two coolers at one load
 * @param observed   a − b at that load with its interval, K
 * @throws RangeError unless low ≤ rise ≤ high
 * @example
 * canExplain({ cooler: 'A', rise_K: 1.6, rise_low_K: 1.1, rise_high_K: 2.3 }, flat, { rise_K: 2, low_K: 1, high_K: 3 })
 * // { verdict: 'all', … }
 */
export function canExplain(
  a: GapCost,
  b: GapCost,
  observed: { rise_K: number; low_K: number; high_K: number },
): Explanation {
  if (!(observed.low_K <= observed.rise_K && observed.rise_K <= observed.high_K)) {
    throw new RangeError(
      `observed ${observed.rise_K} K with the interval ${observed.low_K} … ${observed.high_K} K; low ≤ rise ≤ high is accepted`,
    );
  }
  const expected_K = a.rise_K - b.rise_K;
  const ends = [a.rise_low_K - b.rise_low_K, expected_K, a.rise_high_K - b.rise_high_K];
  const low_K = Math.min(...ends);
  const high_K = Math.max(...ends);
  const verdict = verdictOf(low_K, high_K, observed);
  const share = observed.rise_K === 0 ? null : expected_K / observed.rise_K;
  const K = (v: number) => `${v.toFixed(1).replace(/^-(0\.0)$/, '$1')} K`;
  const range = K(low_K) === K(high_K) ? K(low_K) : `${K(low_K)} to ${K(high_K)}`;
  const names = `${a.cooler} minus ${b.cooler}`;
  const sentence = {
    'nothing to explain': `The test does not tell ${a.cooler} from ${b.cooler}; by unevenness alone ${names} would be ${K(expected_K)}.`,
    all: `Unevenness can explain ${names}: it accounts for ${range}; ${K(observed.rise_K)} was observed.`,
    part: `Unevenness can explain part of ${names}: at most ${K(Math.abs(low_K) > Math.abs(high_K) ? low_K : high_K)} of ${K(observed.rise_K)}.`,
    'less than expected': `By unevenness alone ${names} would be at least ${K(Math.abs(low_K) < Math.abs(high_K) ? low_K : high_K)}; only ${K(observed.rise_K)} was observed.`,
    none: `Unevenness explains almost nothing of ${names}: ${range} of ${K(observed.rise_K)}.`,
    opposite: `By unevenness alone ${names} would have the other sign: ${range}; ${K(observed.rise_K)} was observed.`,
  }[verdict];
  return { verdict, expected_K, low_K, high_K, share, sentence };
}

/** Less than a tenth of the observed difference is next to nothing (an assumption). */
const NEXT_TO_NOTHING = 0.1;

/** What the span of unevenness says of an observed difference. */
function verdictOf(
  low: number,
  high: number,
  observed: { rise_K: number; low_K: number; high_K: number },
): Explained {
  if (observed.low_K <= 0 && observed.high_K >= 0) return 'nothing to explain';
  if (high >= observed.low_K && low <= observed.high_K) return 'all';
  const sign = Math.sign(observed.rise_K);
  const most = sign > 0 ? high : -low;
  const least = sign > 0 ? low : -high;
  const size = Math.abs(observed.rise_K);
  if (most < -NEXT_TO_NOTHING * size) return 'opposite';
  if (most < NEXT_TO_NOTHING * size) return 'none';
  return least > size ? 'less than expected' : 'part';
}
