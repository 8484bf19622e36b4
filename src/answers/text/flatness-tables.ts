import type { FlatnessResult } from '../../flatness.ts';
import { table } from './table.ts';
import { wrap } from './text-width.ts';
import { load, plain } from './wording.ts';

/**
 * What `flatness` found, for a person: a row a surface, one table a load, then what it explains. That the gap is
 * only a bound where no pressure is given is among the warnings.
 *
 * @returns text with a line end after the last line
 */
export function flatnessTables(result: FlatnessResult, width = 80): string {
  const loads = [...new Set(result.surfaces.map((row) => row.power_W))];
  const lines: string[] = [];
  const flux =
    result.reading === 'coupled'
      ? `heat entering through the hot spots of ${result.source ?? ''}`
      : 'heat entering evenly';
  const [low, high] = result.paste_W_per_mK;
  lines.push(
    ...wrap(
      `What unevenness adds to a perfectly flat base with the same paste, ${flux}, paste of ${plain(low)} to ${plain(high)} W/mK`,
      width,
    ),
  );
  for (const power_W of loads) {
    const at = result.surfaces.filter((row) => row.power_W === power_W);
    const withShare = at.some((row) => row.share_of_rise !== null);
    lines.push(
      '',
      `At ${load(power_W)}`,
      table(
        [
          { title: 'cooler', align: 'left' },
          { title: 'sample', align: 'left' },
          { title: 'shape', align: 'left' },
          { title: 'flatness', unit: 'µm', align: 'right' },
          { title: 'mean gap', unit: 'µm', align: 'right' },
          { title: 'added resistance', unit: 'K/W', align: 'right' },
          { title: 'added rise', unit: 'K', align: 'right' },
          { title: 'from, to', unit: 'K', align: 'right' },
          ...(withShare ? [{ title: 'of its rise', unit: '%', align: 'right' } as const] : []),
        ],
        at.map((row) => [
          row.cooler,
          row.sample,
          row.shape,
          row.flatness_um.toFixed(1),
          row.mean_gap_um.toFixed(1),
          row.resistance_K_per_W.toFixed(4),
          row.rise_K.toFixed(1),
          `${row.rise_low_K.toFixed(1)} to ${row.rise_high_K.toFixed(1)}`,
          ...(withShare ? [row.share_of_rise === null ? '-' : (100 * row.share_of_rise).toFixed(1)] : []),
        ]),
        { width },
      ),
    );
  }
  if (result.explanations.length > 0) lines.push('');
  for (const { power_W, sentence } of result.explanations) {
    lines.push(...wrap(`At ${load(power_W)}: ${sentence}`, width, 2));
  }
  return `${lines.join('\n')}\n`;
}
