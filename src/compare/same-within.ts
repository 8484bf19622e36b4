import { BenchError } from '../bench/bench-error.ts';
import type { Pair } from './comparison.ts';

/** Pairs that are shown to differ by less than a margin, and the loads asked for at which they are. */
export interface SameWithin {
  margin_K: number;
  pairs: { a: string; b: string; power_W: number[] }[];
}

/** Whether K is a margin: above 0 and up to 1000. */
export function isMargin(margin_K: number): boolean {
  return margin_K > 0 && margin_K <= 1000;
}

/** @throws BenchError for what is not a margin */
export function checkMargin(margin_K: number): void {
  if (isMargin(margin_K)) return;
  throw new BenchError('--margin', 1, 1, `${margin_K} is not a margin; give K above 0, such as 1`);
}

/**
 * Which coolers are the same for practical purposes: pairs whose difference lies within ± a margin with both of its limits.
 *
 * That is two one-sided tests, that it is not above the margin and not below its negative (Schuirmann 1987, J. Pharmacokinet.
 * Biopharm. 15, 657), by the limits that hold for all pairs together, so that a pair may be told apart and be the same within a margin: the
 * difference is then real and does not matter.
 *
 * @param margin_K  the least difference that matters, above 0 and up to 1000
 * @throws BenchError for another margin
 */
export function sameWithin(
  pairs: readonly Pick<Pair, 'a' | 'b' | 'difference'>[],
  margin_K: number,
): SameWithin {
  checkMargin(margin_K);
  return {
    margin_K,
    pairs: pairs.flatMap(({ a, b, difference }) => {
      const inside = difference.filter(({ low_K, high_K }) => low_K > -margin_K && high_K < margin_K);
      return inside.length > 0 ? [{ a, b, power_W: inside.map(({ power_W }) => power_W) }] : [];
    }),
  };
}
