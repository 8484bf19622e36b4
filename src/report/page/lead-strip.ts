import type { CompareResult } from '../../results.ts';
import { leadersAt } from '../../tables/answer.ts';
import { load, plain } from '../../tables/wording.ts';
import { escapeHtml } from './escape.ts';
import { colourProperty, markSvg } from './marks.ts';

/**
 * Who leads at each load: a row for each cooler that leads anywhere, a cell for each load. A full cell leads alone, a
 * thin one ties with the others of its column. No places are drawn, so nothing ranks coolers inside a tie.
 */
export function leadStrip(result: CompareResult, places: ReadonlyMap<string, number>): string {
  const leaders = result.loads.map((at) => leadersAt(at).map((e) => e.cooler));
  const names = [...places.keys()].filter((name) => leaders.some((list) => list.includes(name)));
  const beyond = result.loads.map((at) => leadersAt(at).some((e) => e.extrapolated));
  const count = result.loads.length;
  const rows = names.map((name) => {
    const place = places.get(name) ?? 0;
    const cells = stretchesOf(name, leaders, beyond)
      .map(({ from, to, alone, outside }) => {
        const [y, height] = alone ? [0.14, 0.72] : [0.4, 0.2];
        return `<rect x="${from}" y="${y}" width="${to - from + 1}" height="${height}"${outside ? ' class="beyond"' : ''}/>`;
      })
      .join('');
    return (
      `<tr><th scope="row">${markSvg(place)}<span class="name">${escapeHtml(name)}</span></th>` +
      `<td class="strip"><svg viewBox="0 0 ${count} 1" preserveAspectRatio="none" role="img" aria-label="${escapeHtml(stripWords(name, result, leaders))}" style="color:var(${colourProperty(place)})">${cells}</svg></td></tr>`
    );
  });
  const first = result.loads[0]?.power_W ?? 0;
  const last = result.loads[count - 1]?.power_W ?? 0;
  const middle = result.loads[Math.floor((count - 1) / 2)]?.power_W ?? 0;
  return `<table class="leads-table"><caption class="unseen">Which coolers lead at each load</caption><thead><tr><th scope="col">cooler</th><th scope="col"><span class="scale"><span>${plain(first)}</span><span>${plain(middle)}</span><span>${load(last)}</span></span></th></tr></thead><tbody>${rows.join('')}</tbody></table>`;
}

interface Stretch {
  from: number;
  to: number;
  alone: boolean;
  outside: boolean;
}

/** Neighbouring loads at which a cooler leads in the same way, as one. */
function stretchesOf(
  name: string,
  leaders: readonly (readonly string[])[],
  beyond: readonly boolean[],
): Stretch[] {
  const found: Stretch[] = [];
  leaders.forEach((list, i) => {
    if (!list.includes(name)) return;
    const alone = list.length === 1;
    const last = found[found.length - 1];
    if (last !== undefined && last.to === i - 1 && last.alone === alone && last.outside === beyond[i])
      last.to = i;
    else found.push({ from: i, to: i, alone, outside: beyond[i] });
  });
  return found;
}

/** The same in words: "leads alone from 200 to 300 W; ties from 50 to 190 W". */
export function stripWords(
  name: string,
  result: CompareResult,
  leaders: readonly (readonly string[])[],
): string {
  const nowhere = leaders.map(() => false);
  const stretches = stretchesOf(name, leaders, nowhere).map(({ from, to, alone }) => {
    const [first, last] = [result.loads[from].power_W, result.loads[to].power_W];
    const where = from === to ? `at ${load(first)}` : `from ${plain(first)} to ${load(last)}`;
    return `${alone ? 'leads alone' : 'ties for the lead'} ${where}`;
  });
  return `${name} ${stretches.join('; ')}`;
}
