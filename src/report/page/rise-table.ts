import { spread } from '../../tables/wording.ts';
import { escapeHtml } from './escape.ts';
import { markSvg } from './marks.ts';
import type { CoolerCurve } from './page-data.ts';

/** The rise chart as a table: a row for each cooler, a column for each of up to eleven loads. */
export function riseTable(coolers: readonly CoolerCurve[]): string {
  const indices = spread(
    (coolers[0]?.power_W ?? []).map((_, i) => i),
    11,
  );
  const header = indices
    .map((i) => `<th scope="col" class="number">${coolers[0].power_W[i]} W</th>`)
    .join('');
  const rows = coolers
    .map((c, place) => {
      const cells = indices
        .map((i) => {
          const half = (c.high_K[i] - c.low_K[i]) / 2;
          return `<td class="number">${c.rise_K[i].toFixed(1)}${c.extrapolated[i] ? '*' : ''} <span class="quiet">±&nbsp;${half.toFixed(1)}</span></td>`;
        })
        .join('');
      return `<tr><th scope="row">${markSvg(place)}<span class="name">${escapeHtml(c.cooler)}</span></th>${cells}</tr>`;
    })
    .join('');
  return `<div class="scroll" tabindex="0" role="region" aria-label="Rise against load as a table"><table><caption class="unseen">Rise above ambient in kelvin, with half of its interval</caption><thead><tr><th scope="col">cooler</th>${header}</tr></thead><tbody>${rows}</tbody></table></div>`;
}
