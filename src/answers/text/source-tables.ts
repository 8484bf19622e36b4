import type { ClockResult } from '../../compare/pair-clock.ts';
import type { SourceTermResult } from '../../predict/chip-term-result.ts';
import type { SourceLimit } from '../../predict/source-limits.ts';
import { table } from './table.ts';
import { wrap } from './text-width.ts';
import { conciseUncertainty } from './uncertainty.ts';
import { BEYOND_FOOTNOTE, load, marked, plain } from './wording.ts';

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

/**
 * The load at which a source reaches a temperature, a row a cooler.
 *
 * @param isAsked  whether that temperature was asked for: a heater's own limit is the lab's affair and is in the JSON alone
 */
export function limitLines(
  limits: readonly SourceLimit[] | undefined,
  width: number,
  isAsked = false,
): string[] {
  if (!limits || limits.length === 0) return [];
  const [{ source, limit_C, ambient_C }] = limits;
  if (source === 'heater' && !isAsked) return [];
  const watts = (value: number | null) => (value === null ? '-' : value.toFixed(0));
  const range = ({ low_W, high_W }: Pick<SourceLimit, 'low_W' | 'high_W'>) => {
    if (low_W === null) return high_W === null ? '-' : `not above ${watts(high_W)}`;
    return high_W === null ? `not below ${watts(low_W)}` : `${watts(low_W)} to ${watts(high_W)}`;
  };
  const withPipes = limits.some((one) => one.if_pipes_hold);
  const loads = marked(
    limits.map((one) => watts(one.power_W)),
    limits.map((one) => one.extrapolated && one.power_W !== null),
  );
  const isOpen = limits.some((one) => one.power_W === null || (one.low_W === null && one.high_W === null));
  return [
    ...wrap(
      `Load at which ${source === 'heater' ? 'the heater' : source} reaches ${plain(limit_C)} °C in a room of ${plain(ambient_C)} °C`,
      width,
    ),
    table(
      [
        { title: 'cooler', align: 'left' },
        { title: 'fan', unit: 'rpm', align: 'right' },
        { title: 'load', unit: 'W', align: 'right' },
        { title: 'from, to', unit: 'W', align: 'right' },
        ...(withPipes ? [{ title: 'if the pipes hold', unit: 'W', align: 'right' } as const] : []),
      ],
      limits.map((one, i) => [
        one.cooler,
        one.fan_rpm.toFixed(0),
        loads[i],
        range(one),
        ...(withPipes ? [range(one.if_pipes_hold ?? one)] : []),
      ]),
      { width },
    ),
    ...(isOpen ? ['  -: beyond the loads looked at'] : []),
    ...(limits.some((one) => one.extrapolated && one.power_W !== null) ? [BEYOND_FOOTNOTE] : []),
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
