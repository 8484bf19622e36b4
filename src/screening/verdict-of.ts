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
