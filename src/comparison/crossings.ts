import type { Crossing } from '../results.ts';

/** The difference a − b at one load with its limits. */
export interface DifferenceAt {
  readonly power_W: number;
  readonly rise_K: number;
  readonly low_K: number;
  readonly high_K: number;
  readonly extrapolated: boolean;
}

/**
 * Loads at which the mean curves of two coolers meet.
 *
 * A crossing lies where the difference changes sign; its interval is every load around it at which the difference cannot
 * be told from zero (inverting the test, as Fieller's method does), so that it grows without end where the curves run side
 * by side. Where it reaches the end of the loads looked at it is open there.
 *
 * @param differences  at rising loads, with limits of one interval each
 */
export function crossingsOf(a: string, b: string, differences: readonly DifferenceAt[]): Crossing[] {
  const out: Crossing[] = [];
  for (let i = 1; i < differences.length; i++) {
    const left = differences[i - 1];
    const right = differences[i];
    if (left.rise_K === 0 || left.rise_K * right.rise_K >= 0) continue;
    let first = i - 1;
    while (first >= 0 && holdsZero(differences[first])) first--;
    let last = i;
    while (last < differences.length && holdsZero(differences[last])) last++;
    const lowOpen = first < 0;
    const highOpen = last >= differences.length;
    const aBelow = left.rise_K < 0;
    out.push({
      value: zeroBetween(left, right, (d) => d.rise_K),
      low: lowOpen
        ? differences[0].power_W
        : zeroBetween(differences[first], differences[first + 1], aBelow ? (d) => d.high_K : (d) => d.low_K),
      high: highOpen
        ? differences[differences.length - 1].power_W
        : zeroBetween(differences[last - 1], differences[last], aBelow ? (d) => d.low_K : (d) => d.high_K),
      extrapolated: left.extrapolated || right.extrapolated,
      low_open: lowOpen,
      high_open: highOpen,
      ahead_below: aBelow ? a : b,
      ahead_above: aBelow ? b : a,
    });
  }
  return out;
}

function holdsZero(at: DifferenceAt): boolean {
  return at.low_K <= 0 && at.high_K >= 0;
}

/** Load between two neighbours at which a quantity is zero, by straight line; the nearer end where it is not between them. */
function zeroBetween(left: DifferenceAt, right: DifferenceAt, of: (d: DifferenceAt) => number): number {
  const from = of(left);
  const to = of(right);
  if (from === to) return (left.power_W + right.power_W) / 2;
  const share = from / (from - to);
  return left.power_W + Math.min(1, Math.max(0, share)) * (right.power_W - left.power_W);
}
