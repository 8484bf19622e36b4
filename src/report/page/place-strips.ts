import type { CompareResult } from '../../results.ts';
import { load, plain } from '../../tables/wording.ts';
import { escapeHtml } from './escape.ts';
import { colourProperty, markSvg } from './marks.ts';

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
export function placesOf(cooler: string, result: CompareResult): PlaceStretch[] {
  const found: PlaceStretch[] = [];
  const own = result.pairs.filter((pair) => pair.a === cooler || pair.b === cooler);
  result.loads.forEach((at, i) => {
    let better = 0;
    let worse = 0;
    for (const pair of own) {
      const d = pair.difference[i];
      const aheadIsA = d.high_K < 0;
      if (!aheadIsA && !(d.low_K > 0)) continue;
      if (aheadIsA === (pair.a === cooler)) worse++;
      else better++;
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
export function placeWords(cooler: string, result: CompareResult): string {
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

/** A strip for each cooler: across, the load; down, the places it may hold, first at the top. */
export function placeStrips(result: CompareResult, places: ReadonlyMap<string, number>): string {
  const count = result.loads.length;
  const field = result.loads[0]?.order.length ?? 0;
  const middle = result.loads[Math.floor((count - 1) / 2)]?.order.map((e) => e.cooler) ?? [];
  const rows = middle.map((name) => {
    const place = places.get(name) ?? 0;
    const cells = placesOf(name, result)
      .map(
        ({ from, to, best, worst, beyond }) =>
          `<rect x="${from}" y="${best - 1}" width="${to - from + 1}" height="${worst - best + 1}"${beyond ? ' class="beyond"' : ''}/>`,
      )
      .join('');
    return (
      `<tr><th scope="row">${markSvg(place)}<span class="name">${escapeHtml(name)}</span></th>` +
      `<td class="strip"><svg viewBox="0 0 ${count} ${field}" preserveAspectRatio="none" role="img" aria-label="${escapeHtml(placeWords(name, result))}" style="color:var(${colourProperty(place)})">${cells}</svg></td></tr>`
    );
  });
  const ends = [0, Math.floor((count - 1) / 2), count - 1].map((i) => result.loads[i]?.power_W ?? 0);
  return `<table class="places"><caption class="unseen">Places that each cooler may hold at each load</caption><thead><tr><th scope="col">cooler</th><th scope="col"><span class="scale"><span>${plain(ends[0])}</span><span>${plain(ends[1])}</span><span>${load(ends[2])}</span></span></th></tr></thead><tbody>${rows.join('')}</tbody></table>`;
}
