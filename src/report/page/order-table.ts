import { leadersAt } from '../../answers/text/answer.ts';
import { interval } from '../../answers/text/uncertainty.ts';
import { chance, load, percent } from '../../answers/text/wording.ts';
import type { LoadOrder } from '../../compare/comparison.ts';
import { STANDING_WORDS, type Standing } from '../charts/emphasis.ts';
import { escapeHtml } from './escape.ts';
import { colourProperty, markSvg } from './marks.ts';

/** A span of kelvin that the small drawings of a table share. */
export interface Span {
  low: number;
  high: number;
}

/** Round ends around all values, with a little air. */
function spanOf(values: readonly number[]): Span {
  const finite = values.filter(Number.isFinite);
  const low = Math.min(...finite);
  const high = Math.max(...finite);
  const size = high - low || 1;
  const step = 10 ** Math.floor(Math.log10(size));
  const unit = size / step > 5 ? step : size / step > 2 ? step / 2 : step / 5;
  return {
    low: Math.floor((low - size * 0.02) / unit) * unit,
    high: Math.ceil((high + size * 0.02) / unit) * unit,
  };
}

const share = (value: number, span: Span): string =>
  `${(((value - span.low) / (span.high - span.low)) * 100).toFixed(2)}%`;

/** An interval and its estimate on a line; the numbers stand beside it. */
function intervalDrawing(
  low: number,
  value: number,
  high: number,
  span: Span,
  colour: string,
  faint: boolean,
): string {
  const clip = (x: number): number => Math.min(span.high, Math.max(span.low, x));
  return (
    `<svg class="interval${faint ? ' beyond' : ''}" aria-hidden="true" style="--ink:var(${colour})">` +
    `<line x1="${share(clip(low), span)}" x2="${share(clip(high), span)}" y1="50%" y2="50%"/>` +
    `<circle cx="${share(clip(value), span)}" cy="50%" r="4"/></svg>`
  );
}

/**
 * Rows of the order at one load: names with marks, rise, interval drawn and written, temperature of the source, letters,
 * chance.
 */
export function orderRows(
  at: LoadOrder,
  places: ReadonlyMap<string, number>,
  ambient_C: number,
  standing: ReadonlyMap<string, Standing>,
  chosen: readonly string[],
): string {
  const span = spanOf(at.order.flatMap((e) => [e.mean_low_K, e.mean_high_K]));
  const leaders = new Set(leadersAt(at).map((e) => e.cooler));
  return at.order
    .map((e) => {
      const place = places.get(e.cooler) ?? 0;
      const stands = standing.get(e.cooler);
      const said =
        stands === undefined || stands === 'chosen'
          ? ''
          : ` <span class="stands">${STANDING_WORDS[stands]}</span>`;
      const classes = [leaders.has(e.cooler) ? 'leads' : '', stands ?? ''].join(' ').trim();
      const letters = e.tiers.map((tier) => `<span class="tier">${escapeHtml(tier)}</span>`).join('');
      return (
        `<tr${classes === '' ? '' : ` class="${classes}"`}>` +
        `<th scope="row"><button type="button" class="pick" data-cooler="${escapeHtml(e.cooler)}" aria-pressed="${chosen.includes(e.cooler)}">${markSvg(place)}<span class="name">${escapeHtml(e.cooler)}</span></button>${said}</th>` +
        `<td class="number">${e.rise_K.toFixed(1)}${e.extrapolated ? '<abbr title="beyond the loads, speeds or source run">*</abbr>' : ''}</td>` +
        `<td class="drawing">${intervalDrawing(e.mean_low_K, e.rise_K, e.mean_high_K, span, colourProperty(place), e.extrapolated)}</td>` +
        `<td class="number wide">${interval(e.mean_low_K, e.mean_high_K)}</td>` +
        `<td class="number wide">${(ambient_C + e.rise_K).toFixed(1)}</td>` +
        `<td class="letters">${letters}</td>` +
        `<td class="number wide">${chance(e.p_best)}</td></tr>`
      );
    })
    .join('');
}

/** Scale of the drawings in the header of their column. */
export function orderScale(at: LoadOrder): string {
  const span = spanOf(at.order.flatMap((e) => [e.mean_low_K, e.mean_high_K]));
  return `<span class="scale"><span>${Number(span.low.toFixed(2))}</span><span>${Number(span.high.toFixed(2))} K</span></span>`;
}

export function orderCaption(at: LoadOrder, level: number): string {
  return `Rise above ambient at ${load(at.power_W)}, least first, with ${percent(level)} intervals of the true mean.`;
}
