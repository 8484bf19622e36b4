import { SAFETY_IN_SHORT } from '../../report/safety.ts';
import type { AdaptivePolicy, AdaptiveResult, PlanResult, RehearseResult } from '../../results.ts';
import { table } from './table.ts';
import { wrap } from './text-width.ts';
import { fixed } from './uncertainty.ts';
import { chance, counted, load, plain } from './wording.ts';

const MOST_PAIRS = 30;

/** Hours and minutes on the bench after each run. */
export function clock(minutes: number): string {
  return `${Math.floor(minutes / 60)}:${String(Math.round(minutes % 60)).padStart(2, '0')}`;
}

function runSheet(result: PlanResult, width: number): string {
  let minutes = 0;
  return table(
    [
      { title: 'cooler', align: 'left' },
      { title: 'run', align: 'right' },
      { title: 'sample', align: 'left' },
      { title: 'paste', align: 'left' },
      { title: 'load', unit: 'W', align: 'right' },
      { title: 'fan', unit: 'rpm', align: 'right' },
      { title: 'done at', unit: 'h', align: 'right' },
      { title: 'source / ambient', unit: '°C', align: 'right' },
    ],
    result.runs.map((run) => {
      minutes += run.minutes;
      return [
        run.cooler,
        String(run.order),
        run.sample,
        run.remount ? 'fresh' : 'as it is',
        plain(run.power_W),
        String(run.fan_rpm),
        clock(minutes),
        '_____ / _____',
      ];
    }),
    { width },
  );
}

/** Lines of the picture. */
const MOST_LINES = 12;

/** How the chance of an answer grows with the hours, as a picture. */
function curvePicture({ goal, expected: { curve, stop_after_hours } }: PlanResult, width: number): string[] {
  const known = curve.flatMap(({ hours, answered }) => (answered === null ? [] : [{ hours, answered }]));
  if (known.length < 2) return [];
  const step = Math.max(1, Math.ceil((known.length - 1) / (MOST_LINES - 1)));
  const shown = known.filter((_, k) => k % step === 0 || k === known.length - 1);
  const bar = Math.max(10, Math.min(50, width - 28));
  const what =
    goal === 'order'
      ? 'Share of the pairs decided'
      : goal === 'prediction'
        ? 'Share of the predictions within the margin'
        : 'Chance that the question is answered';
  const stop = stop_after_hours ?? Number.NaN;
  const enough = shown.findIndex(({ hours }) => hours >= stop - 1e-9);
  return [
    '',
    `${what}, all looks counted`,
    ...shown.map(({ hours, answered }, k) => {
      const length = Math.round(bar * answered);
      const row = `${hours.toFixed(1).padStart(6)} h ${fixed(100 * answered, 0).padStart(4)} % ${'#'.repeat(length)}${'.'.repeat(bar - length)}`;
      return k === enough ? `${row} enough` : row;
    }),
    '',
  ];
}

/** Loads to be climbed to, and the warnings: on the sheet that is taken to the bench. */
function toBeMinded({ runs, warnings }: PlanResult, width: number): string[] {
  const climbs = runs
    .filter(({ climb_W }) => climb_W.length > 0)
    .map(
      ({ order, cooler, climb_W, power_W }) =>
        `run ${order}, ${cooler}: climb by ${climb_W.map(plain).join(', ')} W to ${load(power_W)}, beyond what was run on it; let the source all but settle at each (a third of a settling time, in the hours)`,
    );
  const all = [...climbs, ...new Set(warnings)];
  return all.length === 0 ? [] : ['To be minded', ...all.flatMap((one) => wrap(`- ${one}`, width, 2)), ''];
}

/**
 * What `plan` found, for a person: a run sheet to print, with the safety lines, and what the runs should buy.
 *
 * @returns text with a line end after the last line
 */
export function planTables(result: PlanResult, width = 80): string {
  const { expected } = result;
  const lines: string[] = [
    `Run sheet, ${result.bench}, source: ${result.source}, ${expected.hours.toFixed(1)} h`,
    ...wrap('Before any heat:', width),
    ...result.safety.flatMap((line) => wrap(`- ${line}`, width, 2)),
    '',
  ];
  if (result.runs.length > 0) lines.push(runSheet(result, width), '');
  lines.push(...toBeMinded(result, width));
  lines.push(...wrap(result.decided.sentence, width));
  for (const sentence of expected.sentences) lines.push(...wrap(sentence, width));
  lines.push(...curvePicture(result, width));
  lines.push(`Times: ${expected.times}.`);
  const open = expected.pairs.filter((pair) => !pair.resolved_now);
  if (open.length > 0) {
    const shown = [...open].sort((a, b) => b.resolved_chance - a.resolved_chance).slice(0, MOST_PAIRS);
    lines.push('', 'Pairs that are not told apart yet');
    lines.push(
      table(
        [
          { title: 'pair', align: 'left' },
          { title: 'at', unit: 'W', align: 'right' },
          { title: 'apart', unit: 'K', align: 'right' },
          { title: 'told by the plan', unit: '%', align: 'right' },
          { title: 'told ever', unit: '%', align: 'right' },
          { title: 'mounts of each', align: 'right' },
          { title: 'samples of each', align: 'right' },
        ],
        shown.map((pair) => [
          `${pair.a} - ${pair.b}`,
          plain(pair.power_W),
          fixed(pair.difference_K, 1),
          chance(pair.resolved_chance),
          chance(pair.ever_chance),
          pair.mounts_each === null ? 'too many' : String(pair.mounts_each),
          pair.samples_each === null ? 'too many' : String(pair.samples_each),
        ]),
        { width },
      ),
    );
    if (shown.length < open.length) lines.push('--json gives all of them.');
    lines.push(
      ...wrap(
        'Told ever: by any number of mounts of the samples at hand, at that load. Mounts and samples of each: what would tell the difference as it stands, one reading a mount.',
        width,
      ),
    );
  }
  return `${lines.join('\n')}\n`;
}

/**
 * What `rehearse` found, for a person.
 *
 * @returns text with a line end after the last line
 */
export function rehearseTables(result: RehearseResult, width = 80): string {
  const shown = [...result.pairs].sort((a, b) => b.resolved_fraction - a.resolved_fraction);
  const lines = [
    ...wrap(
      `${counted(result.repeats, 'rehearsal')} of ${result.hours.toFixed(1)} h: ${result.resolved_mean.toFixed(1)} of ${counted(result.pairs.length, 'pair')} told apart on average, ${result.false_mean.toFixed(2)} of them the wrong way round`,
      width,
    ),
    '',
    table(
      [
        { title: 'pair', align: 'left' },
        { title: 'load', align: 'right' },
        { title: 'told apart', unit: '%', align: 'right' },
        { title: 'the wrong way', unit: '%', align: 'right' },
      ],
      shown
        .slice(0, MOST_PAIRS)
        .map((pair) => [
          `${pair.a} - ${pair.b}`,
          load(pair.power_W),
          fixed(100 * pair.resolved_fraction, 1),
          fixed(100 * pair.false_fraction, 1),
        ]),
      { width },
    ),
  ];
  if (shown.length > MOST_PAIRS) lines.push('--json gives all of them.');
  lines.push(...wrap(SAFETY_IN_SHORT, width));
  return `${lines.join('\n')}\n`;
}

/**
 * What `rehearse --adaptive` found, for a person.
 *
 * @returns text with a line end after the last line
 */
export function adaptiveTables(result: AdaptiveResult, width = 80): string {
  const { repeats, hours_asked, target_W, goal, margin_K } = result;
  const margin = margin_K === null ? '' : `, differences within ${margin_K} K the same`;
  const row = (title: string, of: (policy: AdaptivePolicy) => string) => [
    title,
    of(result.adaptive),
    of(result.in_turn),
  ];
  const lines = [
    ...wrap(
      `${counted(repeats, 'play')} of benches drawn from the fit, at most ${hours_asked} h each; ${goal} at ${target_W.join(', ')} W${margin}; looked at after every visit`,
      width,
    ),
    '',
    table(
      [
        { title: '', align: 'left' },
        { title: 'plan, read, plan again', align: 'right' },
        { title: 'every cooler in turn', align: 'right' },
      ],
      [
        row('hours on average', (one) => fixed(one.hours_mean, 1)),
        row('hours, eight of ten from', (one) => `${fixed(one.hours_10, 1)} to ${fixed(one.hours_90, 1)}`),
        row('question answered, %', (one) => fixed(100 * one.answered, 0)),
        row('nothing more worth its time, %', (one) => fixed(100 * one.not_worth_more, 0)),
        row('comparisons decided', (one) => fixed(one.decided_mean, 1)),
        row('right at best estimate, %', (one) => fixed(100 * one.right, 0)),
        row('something false said at any look, %', (one) => fixed(100 * one.false_decisions, 1)),
      ],
      { width },
    ),
    ...wrap(
      `A share of these is known to ${Math.ceil(50 / Math.sqrt(repeats))} points; --repeats makes it better.`,
      width,
    ),
    ...wrap(SAFETY_IN_SHORT, width),
  ];
  return `${lines.join('\n')}\n`;
}
