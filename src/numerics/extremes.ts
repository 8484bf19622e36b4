/**
 * The least and the greatest of numbers, however many: `Math.max(...values)` puts each on the stack, which holds some hundred thousand.
 */

/** @returns ∞ where there is none @example smallest([3, 1, 2]) // 1 */
export function smallest(values: Iterable<number>): number {
  let found = Number.POSITIVE_INFINITY;
  for (const value of values) found = Math.min(found, value);
  return found;
}

/** @returns −∞ where there is none @example largest([3, 1, 2]) // 3 */
export function largest(values: Iterable<number>): number {
  let found = Number.NEGATIVE_INFINITY;
  for (const value of values) found = Math.max(found, value);
  return found;
}
