import type { ProfileStep } from '../../response/load-profile.ts';
import type { SimulateResult } from '../../simulate.ts';
import { table } from './table.ts';
import { wrap } from './text-width.ts';
import { fixed, interval } from './uncertainty.ts';
import { load, percent, plain, spread } from './wording.ts';

const MOST_ROWS = 16;

/** A time a person can take in. @example timeText(754) // '12 min 34 s' */
export function timeText(seconds: number): string {
  const whole = Math.round(seconds);
  if (whole < 60) return `${plain(Math.round(seconds * 10) / 10)} s`;
  const [hours, minutes] = [Math.floor(whole / 3600), Math.floor((whole % 3600) / 60)];
  const rest = whole % 60;
  if (hours > 0) return `${hours} h ${minutes} min`;
  return rest === 0 ? `${minutes} min` : `${minutes} min ${rest} s`;
}

/** Places of the answer that are shown: the profile's rows, the peak and the end, or some spread over all. */
function shownPlaces({ time_s, peak_s }: SimulateResult, profile: readonly ProfileStep[]): number[] {
  const wanted = new Set([...profile.map((row) => row.time_s), peak_s, time_s[time_s.length - 1]]);
  const telling = [...time_s.keys()].filter((i) => wanted.has(time_s[i]));
  if (telling.length > MOST_ROWS) return spread(telling, MOST_ROWS);
  const evenly = spread([...time_s.keys()], MOST_ROWS - telling.length + 2);
  return [...new Set([...telling, ...evenly])].sort((a, b) => a - b);
}

function timeTable(result: SimulateResult, profile: readonly ProfileStep[], width: number): string {
  return table(
    [
      { title: 'time', unit: 's', align: 'right' },
      { title: 'load', unit: 'W', align: 'right' },
      { title: 'fan', unit: 'rpm', align: 'right' },
      { title: 'source', unit: '°C', align: 'right' },
    ],
    shownPlaces(result, profile).map((i) => [
      plain(result.time_s[i]),
      plain(result.power_W[i]),
      fixed(result.fan_rpm[i], 0),
      fixed(result.source_C[i], 1),
    ]),
    { width },
  );
}

function limitLines({ limit, source, ambient_C }: SimulateResult): string[] {
  if (limit === null) return [];
  const { limit_C, reached_s, held } = limit;
  const named = `${source}'s limit of ${plain(limit_C)} °C`;
  const profile =
    reached_s === null
      ? `The profile stays below the ${named}.`
      : `The profile meets the ${named} at ${plain(Math.round(reached_s * 10) / 10)} s.`;
  if (!(held.power_W > 0)) return [profile];
  const how =
    held.seconds === null
      ? 'could be held at steady state'
      : held.seconds === 0
        ? 'is above it from the start'
        : `could be held for ${timeText(held.seconds)}`;
  return [
    profile,
    `From ${plain(ambient_C)} °C, ${load(held.power_W)} at ${fixed(held.fan_rpm, 0)} rpm ${how}.`,
  ];
}

function steadyLine({ greatest, ambient_C, level }: SimulateResult): string {
  if (greatest === null) return '';
  const { power_W, rise_K, run_low_K, run_high_K, extrapolated } = greatest;
  const beyond = extrapolated ? ', beyond what was run on this cooler' : '';
  return `At steady state ${load(power_W)} settles at ${fixed(ambient_C + rise_K, 1)} °C; a fresh mount reads ${interval(ambient_C + run_low_K, ambient_C + run_high_K)} °C (${percent(level)})${beyond}.`;
}

/**
 * A simulated profile for a person: some of its times, the peak, the limit, and what it rests on.
 *
 * @returns text with a line end after the last line
 */
export function simulateTables(result: SimulateResult, profile: readonly ProfileStep[], width = 80): string {
  const { cooler, source, ambient_C, peak_C, peak_s, foster } = result;
  const parts = foster.map(
    ({ resistance_K_per_W, time_s }) =>
      `${resistance_K_per_W.toPrecision(3)} K/W in ${time_s.toPrecision(3)} s`,
  );
  const said = [
    `Peak: ${fixed(peak_C, 1)} °C at ${plain(peak_s)} s.`,
    ...limitLines(result),
    steadyLine(result),
    `Step response: ${parts.join(', ')}. Steady values ${result.resistance_from === 'models' ? 'by the models fitted to the runs' : 'as the logs show them'}.`,
    ...result.notes.map((note) => `Note: ${note}.`),
  ].filter((line) => line !== '');
  return `${[
    `${cooler} on ${source}, from ${plain(ambient_C)} °C`,
    '',
    timeTable(result, profile, width),
    '',
    ...said.flatMap((line) => wrap(line, width)),
  ].join('\n')}\n`;
}
