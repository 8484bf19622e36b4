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

/**
 * Stretches, those that are too narrow for their numbers joined with a neighbour that is so too, as the range of both, or with one whose
 * range holds theirs; what was run is not joined with what lies beyond.
 */
export function joinNarrow(
  parts: readonly PlaceStretch[],
  fits: (part: PlaceStretch) => boolean,
): PlaceStretch[] {
  const left = [...parts];
  const together = (i: number): PlaceStretch => ({
    ...left[i],
    to: left[i + 1].to,
    best: Math.min(left[i].best, left[i + 1].best),
    worst: Math.max(left[i].worst, left[i + 1].worst),
  });
  const widthOf = ({ best, worst }: PlaceStretch): number => worst - best;
  for (let i = 0; i < left.length; ) {
    // With the neighbour that leaves the narrower range.
    const [first] = [i - 1, i]
      .filter((k) => {
        const other = left[k === i ? i + 1 : k];
        if (fits(left[i]) || other?.beyond !== left[i].beyond) return false;
        return !fits(other) || widthOf(together(k)) === widthOf(other);
      })
      .sort((a, b) => widthOf(together(a)) - widthOf(together(b)));
    if (first === undefined) i++;
    else {
      left.splice(first, 2, together(first));
      i = first;
    }
  }
  return left;
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
