import type { ClockResult, SourceLimit, SourceTermResult } from '../results.ts';
import { table } from './table.ts';
import { wrap } from './text-width.ts';
import { conciseUncertainty } from './uncertainty.ts';
import { load, plain } from './wording.ts';

const MOST_PAIRS = 12;

/** A chip's term: its size, what it rests on, how well it has predicted. */
export function sourceTermLines(term: SourceTermResult | undefined, width: number): string[] {
  if (!term) return [];
  const size = conciseUncertainty(term.value_K_per_W, term.standard_uncertainty_K_per_W);
  const basis =
    term.runs > 0
      ? `from ${term.runs} runs of ${term.coolers} ${term.coolers === 1 ? 'cooler' : 'coolers'} on it`
      : 'before any run on it';
  return [
    ...wrap(`Term of ${term.source} beside the heater: ${size} K/W, ${basis}`, width),
    ...term.notes.flatMap((note) => wrap(note, width - 2).map((line) => `  ${line}`)),
    '',
  ];
}

/** The load at which a chip reaches its limit, a row a cooler; a heater's limit is the lab's own affair and is in the JSON. */
export function limitLines(limits: readonly SourceLimit[] | undefined, width: number): string[] {
  if (!limits || limits.length === 0) return [];
  const [{ source, limit_C, ambient_C }] = limits;
  if (source === 'heater') return [];
  const watts = (value: number | null) => (value === null ? '-' : value.toFixed(0));
  return [
    ...wrap(
      `Load at which ${source} reaches ${plain(limit_C)} °C in a room of ${plain(ambient_C)} °C`,
      width,
    ),
    table(
      [
        { title: 'cooler', align: 'left' },
        { title: 'fan', unit: 'rpm', align: 'right' },
        { title: 'load', unit: 'W', align: 'right' },
        { title: 'not below', unit: 'W', align: 'right' },
        { title: 'not above', unit: 'W', align: 'right' },
      ],
      limits.map((one) => [
        one.cooler,
        one.fan_rpm.toFixed(0),
        watts(one.power_W),
        watts(one.low_W),
        watts(one.high_W),
      ]),
      { width },
    ),
    ...(limits.some((one) => one.power_W === null || one.low_W === null || one.high_W === null)
      ? ['  - beyond the loads looked at']
      : []),
    '',
  ];
}

/** What the differences are worth in clock. */
export function clockLines(clock: ClockResult | undefined, width: number): string[] {
  if (!clock) return [];
  const slope = conciseUncertainty(clock.MHz_per_K, clock.standard_error);
  const shown = clock.pairs.slice(0, MOST_PAIRS);
  return [
    ...wrap(`Clock by the lab's own ${clock.noted} pairs: ${slope} MHz per K`, width),
    table(
      [
        { title: 'pair', align: 'left' },
        { title: 'load', align: 'right' },
        { title: 'clock', unit: 'MHz', align: 'right' },
        { title: 'from, to', unit: 'MHz', align: 'right' },
        { title: 'told', align: 'left' },
      ],
      shown.map((pair) => [
        `${pair.a} - ${pair.b}`,
        load(pair.power_W),
        pair.MHz.toFixed(0),
        `${pair.low.toFixed(0)} to ${pair.high.toFixed(0)}`,
        pair.within_error ? 'within error' : pair.below_step ? 'below a step' : 'yes',
      ]),
      { width },
    ),
    ...(shown.length < clock.pairs.length
      ? [`  ${shown.length} of ${clock.pairs.length} rows are shown; --json gives all of them.`]
      : []),
    '',
  ];
}
