import { crossingRange } from '../../answers/text/answer.ts';
import { counted, percent } from '../../answers/text/wording.ts';
import type { Comparison } from '../../compare/comparison.ts';
import { escapeHtml } from './escape.ts';
import { markSvg } from './marks.ts';

/** More pairs than this that the test cannot place are counted, not named: the answer of `compare` has them all. */
const MOST_VAGUE = 12;
/** A table of more rows is scrolled in a window of its own. */
const LONG = 16;

/** Every load at which the order of two coolers changes, those within the loads run first. */
export function crossingsTable(result: Comparison, places: ReadonlyMap<string, number>): string {
  const all = result.pairs.flatMap((pair) => pair.crossings);
  const vague = all.filter((c) => c.low_open && c.high_open);
  const rest = vague.length - MOST_VAGUE;
  const found = all
    .filter((c) => !vague.includes(c))
    .sort((x, y) => Number(x.extrapolated) - Number(y.extrapolated) || x.value - y.value);
  const byEstimate =
    vague.length === 0
      ? ''
      : `<p class="quiet">By the estimates alone, but at a load that the test cannot tell: ${vague
          .slice(0, MOST_VAGUE)
          .map(
            (c) =>
              `${escapeHtml(c.ahead_below)} and ${escapeHtml(c.ahead_above)} (about ${Math.round(c.value)}\u00a0W)`,
          )
          .join(
            '; ',
          )}${rest > 0 ? `; and ${counted(rest, 'pair')} more, which the command compare lists` : ''}.</p>`;
  if (found.length === 0) {
    return `<p>The test locates no change of order over the loads looked at.</p>${byEstimate}`;
  }
  const named = (name: string): string =>
    `${markSvg(places.get(name) ?? 0)}<span class="name">${escapeHtml(name)}</span>`;
  const rows = found.map(
    (c) =>
      `<tr><td class="name">${named(c.ahead_below)}</td><td class="name">${named(c.ahead_above)}</td><td class="number">${Math.round(c.value)}${c.extrapolated ? '<abbr title="beyond the loads, speeds or source run">*</abbr>' : ''}</td>` +
      `<td class="number">${crossingRange(c)}</td></tr>`,
  );
  return `<div class="scroll${rows.length > LONG ? ' tall' : ''}" tabindex="0" role="region" aria-label="Loads at which the order changes"><table><caption class="unseen">Loads at which the order of two coolers changes</caption><thead><tr><th scope="col">ahead below</th><th scope="col">ahead above</th><th scope="col" class="number">changes at, W</th><th scope="col" class="number">${percent(result.level)} interval</th></tr></thead><tbody>${rows.join('')}</tbody></table></div>${byEstimate}`;
}
