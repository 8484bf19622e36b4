import type { Bench } from '../bench/bench.ts';
import { studentizedRange } from '../numerics/studentized-range.ts';
import { studyOf } from '../study.ts';

/** Degrees of freedom at which the critical value is computed; between them it is linear in 1/ν. */
const KNOTS = [5, 6, 8, 10, 14, 20, 30, 60, 120, 1e5];

/**
 * Critical multiple of the standard error of a difference so that all pairs of k coolers hold together.
 *
 * Tukey's and Kramer's: the studentized range quantile over √2. It is exact for equal standard errors and on the safe side
 * for unequal ones. For two coolers it is Student's t.
 *
 * Source: Tukey (1953); Kramer (1956) Biometrics 12, 307; conservative: Hayter (1984) Annals of Statistics 12, 61.
 *
 * @param coolers  number compared, ≥ 2
 * @param level  confidence that all intervals hold
 * @returns the multiple as a function of the degrees of freedom (≥ 5, may be infinite)
 */
export function pairwiseCritical(coolers: number, level: number): (freedom: number) => number {
  const quantile = studentizedRange(Math.max(coolers, 2));
  const values = KNOTS.map((freedom) => quantile(level, freedom) / Math.SQRT2);
  return (freedom) => {
    const x = 1 / Math.max(freedom, KNOTS[0]);
    for (let i = 1; i < KNOTS.length; i++) {
      const left = 1 / KNOTS[i - 1];
      const right = 1 / KNOTS[i];
      if (x >= right) return values[i] + ((x - right) / (left - right)) * (values[i - 1] - values[i]);
    }
    return values[KNOTS.length - 1];
  };
}

/** {@link pairwiseCritical}, worked out once for a bench: a page that follows a control asks for the same over and over. */
export const criticalOf = (bench: Bench, coolers: number, level: number): ((freedom: number) => number) =>
  studyOf(bench).once(`critical ${coolers} ${level}`, () => pairwiseCritical(coolers, level));
