import type { Crossing } from './comparison.ts';

/** The difference a − b at one load. */
export interface DifferenceAt {
  readonly power_W: number;
  readonly rise_K: number;
  readonly extrapolated: boolean;
}

interface Limits {
  readonly low_K: number;
  readonly high_K: number;
}

/** One interval of the difference at the load of an index; asked for around a change of sign only. */
export interface IntervalAt {
  limits(index: number): Limits;
  /** Whether zero is within the limits. */
  holdsZero(index: number): boolean;
}

/**
 * Loads at which the mean curves of two coolers meet.
 *
 * A crossing lies where the difference changes sign; its interval is every load around it at which the difference cannot
 * be told from zero (inverting the test, as Fieller's method does), so that it grows without end where the curves run side
 * by side. Where it reaches the end of the loads looked at it is open there.
 *
 * @param differences  at rising loads
 */
export function crossingsOf(
  a: string,
  b: string,
  differences: readonly DifferenceAt[],
  { limits: limitsAt, holdsZero: holdsZeroAt }: IntervalAt,
): Crossing[] {
  const out: Crossing[] = [];
  const known: Limits[] = [];
  const holding: boolean[] = [];
  const holdsZero = (g: number): boolean => {
    holding[g] ??= holdsZeroAt(g);
    return holding[g];
  };
  const limits = (g: number): Limits => {
    known[g] ??= limitsAt(g);
    return known[g];
  };
  for (let i = 1; i < differences.length; i++) {
    const left = differences[i - 1];
    const right = differences[i];
    if (left.rise_K === 0 || left.rise_K * right.rise_K >= 0) continue;
    let first = i - 1;
    while (first >= 0 && holdsZero(first)) first--;
    let last = i;
    while (last < differences.length && holdsZero(last)) last++;
    const lowOpen = first < 0;
    const highOpen = last >= differences.length;
    const aBelow = left.rise_K < 0;
    const between = (g: number, of: (at: Limits) => number): number =>
      zeroBetween(differences[g - 1].power_W, differences[g].power_W, of(limits(g - 1)), of(limits(g)));
    out.push({
      value: zeroBetween(left.power_W, right.power_W, left.rise_K, right.rise_K),
      low: lowOpen ? differences[0].power_W : between(first + 1, aBelow ? (d) => d.high_K : (d) => d.low_K),
      high: highOpen
        ? differences[differences.length - 1].power_W
        : between(last, aBelow ? (d) => d.low_K : (d) => d.high_K),
      extrapolated: left.extrapolated || right.extrapolated,
      low_open: lowOpen,
      high_open: highOpen,
      ahead_below: aBelow ? a : b,
      ahead_above: aBelow ? b : a,
    });
  }
  return out;
}

/** Load between two neighbours at which a quantity is zero, by straight line; the nearer end where it is not between them. */
function zeroBetween(left_W: number, right_W: number, from: number, to: number): number {
  if (from === to) return (left_W + right_W) / 2;
  const share = from / (from - to);
  return left_W + Math.min(1, Math.max(0, share)) * (right_W - left_W);
}
