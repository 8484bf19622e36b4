/** The middle of some numbers in order, the upper one of two. @example median([3, 1, 2]) // 2 */
export function median(values: Iterable<number>): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1];
}
