/**
 * The rising curve nearest to values in weighted least squares: neighbours that fall are pooled to their mean until none
 * does.
 *
 * Source: pool-adjacent-violators, Ayer et al. (1955), Annals of Mathematical Statistics 26, 641.
 *
 * @param y  values in the order of what they should rise with
 * @param weights  above 0, default all 1
 * @example isotonic([1, 3, 2, 4]) // [1, 2.5, 2.5, 4]
 */
export function isotonic(y: readonly number[], weights: readonly number[] = y.map(() => 1)): number[] {
  const blocks: { mean: number; weight: number; size: number }[] = [];
  y.forEach((value, i) => {
    let block = { mean: value, weight: weights[i], size: 1 };
    for (let last = blocks.at(-1); last && last.mean > block.mean; last = blocks.at(-1)) {
      const weight = last.weight + block.weight;
      const mean = (last.mean * last.weight + block.mean * block.weight) / weight;
      block = { mean, weight, size: last.size + block.size };
      blocks.pop();
    }
    blocks.push(block);
  });
  return blocks.flatMap(({ mean, size }) => new Array<number>(size).fill(mean));
}
