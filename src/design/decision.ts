import { BenchError } from '../bench/bench-error.ts';
import { allLooksMultiple } from '../compare/repeated-looks.ts';
import { checkMargin } from '../compare/same-within.ts';
import { normalCdf } from '../numerics/distributions.ts';
import type { PlanOptions } from './planned.ts';

/** What a plan is to decide, and when a comparison of two coolers counts as decided however often one looks. */
export interface Decision {
  readonly goal: 'order' | 'winner' | 'pair' | 'prediction';
  /** With `pair`: places of the two among the coolers asked for, the lesser first. */
  readonly pair: readonly [number, number] | undefined;
  /** Differences up to this do not matter, K; 0 where none was stated. */
  readonly margin_K: number;
  /**
   * Chance, over all looks, that one comparison is called the wrong way, and that two are called the same that differ by the margin or more; both as
   * the two-sided level of {@link allLooksMultiple}.
   */
  readonly tell: number;
  readonly same: number;
}

/**
 * The decision that a goal asks for, its chance of error shared among its comparisons (Bonferroni).
 *
 * - `order`: every pair; a false word on any pair has a chance of at most 1 − level over all looks.
 * - `pair`: one comparison. Two are the same within the margin where two one-sided tests say so, each at 1 − level
 *   (Schuirmann 1987, J. Pharmacokinet. Biopharm. 15, 657).
 * - `winner`: the leader against each other, one-sided, since it is named wrongly only if the true best one is found worse than it (multiple comparisons
 *   with the best: Hsu 1984, Annals of Statistics 12, 1136); within the margin of the best where one is stated (indifference zone: Bechhofer 1954,
 *   Annals of Mathematical Statistics 25, 16).
 *
 * @param names  of the coolers asked for
 * @throws BenchError for a goal, a pair or a margin that is none
 */
export function decisionFor(
  { goal = 'order', margin_K }: Pick<PlanOptions, 'goal' | 'margin_K'>,
  names: readonly string[],
  level: number,
): Decision {
  if (margin_K !== undefined) checkMargin(margin_K);
  const alpha = 1 - level;
  const comparisons = Math.max(names.length - 1, 1);
  const common = { pair: undefined, margin_K: margin_K ?? 0 };
  if (goal === 'winner') {
    return { ...common, goal, tell: (2 * alpha) / comparisons, same: (2 * alpha) / comparisons };
  }
  if (goal === 'order' || goal === 'prediction') {
    const pairs = Math.max((names.length * comparisons) / 2, 1);
    return { ...common, goal, tell: alpha / pairs, same: (2 * alpha) / pairs };
  }
  return { ...common, goal: 'pair', pair: pairIn(goal, names), tell: alpha, same: 2 * alpha };
}

/** The two coolers of `pair:A,B`; a name may hold a comma, in double quotes or as it is. */
function pairIn(goal: string, names: readonly string[]): [number, number] {
  const [, text] = /^pair:(.*)$/s.exec(goal) ?? [];
  if (text === undefined) {
    throw new BenchError(
      '--goal',
      1,
      1,
      `"${goal}" is not a goal; give order, winner, pair:A,B with two coolers, or prediction`,
    );
  }
  const bare = (name: string): string => name.trim().replace(/^"(.*)"$/s, '$1');
  for (let at = text.indexOf(','); at >= 0; at = text.indexOf(',', at + 1)) {
    const [a, b] = [text.slice(0, at), text.slice(at + 1)].map((name) => names.indexOf(bare(name)));
    if (a >= 0 && b >= 0 && a !== b) return a < b ? [a, b] : [b, a];
  }
  throw new BenchError(
    '--goal',
    1,
    1,
    `"${text}" does not name two coolers that are asked for; give pair:A,B with two of ${names.join(', ')}`,
  );
}

/** Where the difference a − b of two estimates decides: above one limit, below another, or within a stretch about zero, K. */
export interface Region {
  readonly above_K: number;
  readonly below_K: number;
  /** Empty where it ends before it begins. */
  readonly same: readonly [low_K: number, high_K: number];
}

/** How far a difference of estimates has to lie from zero, above and below, to tell two coolers apart, K. */
export interface Limit {
  readonly above_K: number;
  readonly below_K: number;
}

/**
 * The region in which a comparison is decided.
 *
 * @param limit  of one look
 * @param multiple  of the standard error that `limit` stands for
 * @param share  of the information on the difference that there will ever be
 */
export function regionOf(
  { goal, margin_K, tell, same }: Decision,
  limit: Limit,
  multiple: number,
  share: number,
): Region {
  const told = overAllLooks(limit, multiple, share, tell);
  // The leader of a winner's question may be worse than the best by the margin.
  if (goal === 'winner')
    return { above_K: told.above_K - margin_K, below_K: told.below_K - margin_K, same: NOWHERE };
  if (!(margin_K > 0)) return { above_K: told.above_K, below_K: told.below_K, same: NOWHERE };
  const inside = overAllLooks(limit, multiple, share, same);
  return {
    above_K: told.above_K,
    below_K: told.below_K,
    same: [inside.above_K - margin_K, margin_K - inside.below_K],
  };
}

const NOWHERE = [0, 0] as const;

/** Limits for all looks from those of one look. */
export function overAllLooks(limit: Limit, multiple: number, share: number, alpha: number): Limit {
  const factor = allLooksMultiple(share, alpha) / multiple;
  return { above_K: limit.above_K * factor, below_K: limit.below_K * factor };
}

/** What a difference of estimates decides: which of the two is the cooler one, that they are the same within the margin, or nothing yet. */
export function decided(region: Region, difference_K: number): 'a' | 'b' | 'same' | undefined {
  const { above_K, below_K, same } = region;
  const isAbove = difference_K > above_K;
  const isBelow = -difference_K > below_K;
  if (isAbove || isBelow) return isAbove && (!isBelow || difference_K > 0) ? 'b' : 'a';
  return difference_K > same[0] && difference_K < same[1] ? 'same' : undefined;
}

/** Chance that a difference of estimates, normal about `middle`, decides. */
export function chanceDecided(region: Region, middle_K: number, spread_K: number): number {
  const { above_K, below_K, same } = region;
  if (!(spread_K > 1e-9)) return decided(region, middle_K) === undefined ? 0 : 1;
  const share = (from: number, to: number): number =>
    to > from ? normalCdf((to - middle_K) / spread_K) - normalCdf((from - middle_K) / spread_K) : 0;
  if (above_K <= -below_K) return 1;
  const inside = share(Math.max(same[0], -below_K), Math.min(same[1], above_K));
  return 1 - share(-below_K, above_K) + inside;
}
