import { studentTCdf } from '../numerics/distributions.ts';

export type ScreenVerdict = 'ok' | 'straggler' | 'outlier';

/**
 * The two words of ISO 5725-2 (7.3.2): a value whose p lies between 1 % and 5 % is a straggler, one below 1 % an outlier.
 *
 * @param p  after adjustment for the number judged
 */
export function verdictOf(p: number): ScreenVerdict {
  return p < 0.01 ? 'outlier' : p < 0.05 ? 'straggler' : 'ok';
}

/**
 * Two-sided p of a deleted residual over its standard deviation, for one value judged alone.
 *
 * "Deleted" means that neither the prediction nor the scatter has seen the value. For n equal readings this is Grubbs' test: with G the
 * largest deviation over the standard deviation of all n, t = G·√(n(n − 2)/((n − 1)² − n·G²)) on n − 2 degrees of freedom, and n·p is the
 * p of the table.
 *
 * Source: Grubbs (1969) Technometrics 11, 1; ISO 5725-2:1994, 7.3.4.
 *
 * @param t  deleted residual over its standard deviation
 * @param freedom  degrees of freedom of the scatter, may be infinite
 */
export function deletedP(t: number, freedom: number): number {
  return Math.min(1, 2 * studentTCdf(-Math.abs(t), freedom));
}

/**
 * Holm's step-down adjustment: the chance of any false alarm in the family stays below the level, however the tests depend on each other.
 *
 * Source: Holm (1979) Scandinavian Journal of Statistics 6, 65.
 *
 * @returns adjusted p, in the order given, comparable with the level directly
 * @example holm([0.01, 0.04, 0.03]) // [0.03, 0.06, 0.06]
 */
export function holm(p: readonly number[]): number[] {
  const order = p.map((_, i) => i).sort((a, b) => p[a] - p[b]);
  const out = new Array<number>(p.length);
  let least = 0;
  order.forEach((i, rank) => {
    least = Math.max(least, Math.min(1, (p.length - rank) * p[i]));
    out[i] = least;
  });
  return out;
}

/** Mounts and runs are judged on one bench: each kind has half of the level, so that the bench as a whole keeps it. */
export const KINDS_JUDGED = 2;

/**
 * Holm's adjustment where some of those judged are two sides of one test, such as the two mounts of a cooler that has no third: the lesser p
 * of a pair counts once and is the finding; the other side has its own p, taken as often as there are tests.
 *
 * @param pairOf  a name that both sides of a pair have, `undefined` for who is judged alone
 * @returns adjusted p, each kind of {@link KINDS_JUDGED} with its share of the level
 */
export function holmOfPairs(p: readonly number[], pairOf: (i: number) => string | undefined): number[] {
  const least = new Map<string, number>();
  p.forEach((value, i) => {
    const test = pairOf(i) ?? String(i);
    const before = least.get(test);
    if (before === undefined || value < p[before]) least.set(test, i);
  });
  const heads = [...least.values()];
  const adjusted = holm(heads.map((i) => p[i]));
  const out = p.map((value) => value * heads.length);
  heads.forEach((i, k) => {
    out[i] = adjusted[k];
  });
  return out.map((value) => Math.min(1, KINDS_JUDGED * value));
}

/**
 * How many of a sequence of suspects stand: all up to the last whose own p is below the level.
 *
 * Suspects are taken out one at a time, the strangest first, each judged with the scatter of what is left. Two outliers can hide each
 * other (masking): the first is then not significant while the second still inflates the scatter. So it is the last significant one that
 * decides, as in Rosner's generalized many-outlier procedure.
 *
 * Source: Rosner (1983) Technometrics 25, 165.
 *
 * @example standing([0.2, 0.3, 0.01, 0.6], 0.05) // 3
 */
export function standing(p: readonly number[], level: number): number {
  return p.findLastIndex((value) => value < level) + 1;
}
