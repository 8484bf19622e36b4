import { load, plain } from '../../answers/text/wording.ts';
import type { Comparison } from '../../compare/comparison.ts';
import { aheadOf } from '../charts/emphasis.ts';

/** The places that a cooler may hold over a stretch of loads, first to last. */
export interface PlaceStretch {
  from: number;
  to: number;
  best: number;
  worst: number;
  beyond: boolean;
}

/**
 * The places that a cooler may hold at each load: one behind every cooler that is told apart as better, one ahead of
 * every cooler that is told apart as worse. A tie leaves a range of places, never a rank.
 *
 * @param result  the comparison, with differences at every load
 * @returns stretches of neighbouring loads (indices, both ends included) with the same range
 */
export function placesOf(cooler: string, result: Comparison): PlaceStretch[] {
  const found: PlaceStretch[] = [];
  const own = result.pairs.filter((pair) => pair.a === cooler || pair.b === cooler);
  result.loads.forEach((at, i) => {
    let better = 0;
    let worse = 0;
    for (const pair of own) {
      const ahead = aheadOf(pair, at.power_W);
      if (ahead === cooler) worse++;
      else if (ahead !== undefined) better++;
    }
    const range = { best: 1 + better, worst: at.order.length - worse };
    const beyond = at.order.find((e) => e.cooler === cooler)?.extrapolated ?? false;
    const last = found[found.length - 1];
    if (
      last !== undefined &&
      last.best === range.best &&
      last.worst === range.worst &&
      last.beyond === beyond
    )
      last.to = i;
    else found.push({ from: i, to: i, ...range, beyond });
  });
  return found;
}

/** The same in words: "place 1 from 20 to 320 W". */
export function placeWords(cooler: string, result: Comparison): string {
  const joined: PlaceStretch[] = [];
  for (const stretch of placesOf(cooler, result)) {
    const last = joined[joined.length - 1];
    if (last !== undefined && last.best === stretch.best && last.worst === stretch.worst)
      last.to = stretch.to;
    else joined.push({ ...stretch });
  }
  const parts = joined.map(({ from, to, best, worst }) => {
    const place = best === worst ? `place ${best}` : `place ${best} to ${worst}`;
    const [first, last] = [result.loads[from].power_W, result.loads[to].power_W];
    return `${place} ${from === to ? `at ${load(first)}` : `from ${plain(first)} to ${load(last)}`}`;
  });
  return `${cooler}: ${parts.join(', ')}`;
}
