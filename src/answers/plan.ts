import { BenchError } from '../bench/bench-error.ts';
import { plan } from '../design/plan.ts';
import { planCsv } from '../design/plan-table.ts';
import type { PlanGoal, PlanOptions, PlanResult } from '../design/planned.ts';
import type { Command, GivenOptions, OptionTable } from './options/command.ts';
import { fault, marginOption, numberGiven, readConditions, readMargin } from './options/conditions.ts';
import { parseLoads } from './options/parse-loads.ts';
import { answerOptions, printAnswer } from './options/print-answer.ts';
import { table } from './text/table.ts';
import { wrap } from './text/text-width.ts';
import { fixed } from './text/uncertainty.ts';
import { chance, clock, load, plain } from './text/wording.ts';

/** What is asked, and what differences matter. */
export const goalOptions: OptionTable = {
  goal: {
    value: 'NAME',
    describe:
      'order (default): which pairs differ; winner: which is the coolest; pair:A,B: whether these two differ; prediction: narrowest predictions',
  },
  ...marginOption,
};

export const command: Command = {
  name: 'plan',
  operand: 'bench',
  about: `Chooses the next runs for a question within some hours: which coolers, at which
loads, on how many fresh mounts; what to expect of them; which pairs cannot be
told apart in any time; and prints a run sheet. Times on the bench stand in
bench.yaml under planning: settle_air_min, settle_liquid_min, remount_min,
heater_visit_min, chip_visit_min, chip_days, day_hours.`,
  example: 'heatladder plan demo-bench --target 230 --hours 8 -o plan.csv',
  options: () => {
    const { power: _, ...conditions } = answerOptions;
    return {
      target: { value: 'W', describe: 'loads at which to tell the coolers apart: 200 or 150,250' },
      hours: { value: 'H', describe: 'hours on the bench' },
      ...goalOptions,
      'with-heater': {
        describe: 'for a chip as --source: runs on the heater too, where they save some on the chip',
      },
      output: { alias: 'o', value: 'FILE', describe: 'write the runs as a table; - for standard output' },
      ...conditions,
    };
  },
  run: async (call) => {
    const { folder, options, open, output, files } = call;
    const place = files.placeOf(options.output);
    const target_W = targetOf(options);
    const hours = hoursOf(options);
    const bench = await open(folder);
    const result = plan(bench, {
      ...readConditions(options, bench),
      target_W,
      hours,
      ...goalOf(options),
      ...(options['with-heater'] === true && { with_heater: true }),
    });
    if (place === '-') {
      output.file(planCsv(result));
      return;
    }
    if (place !== undefined) files.write(place, planCsv(result), '--output');
    // Printed, the warnings stand on the sheet itself, which is taken to the bench.
    const said = options.json === true ? result : { ...result, warnings: [] };
    await printAnswer(call, said, (answer, width) =>
      planTables({ ...answer, warnings: result.warnings }, width),
    );
  },
};

/** The loads of `--target`. */
export function targetOf({ target }: GivenOptions): number[] {
  if (typeof target !== 'string') {
    throw fault('target', 'the load to decide is missing; give it in W, such as --target 200');
  }
  try {
    return parseLoads(target);
  } catch (error) {
    if (!(error instanceof BenchError)) throw error;
    throw fault('target', error.message.slice(error.message.indexOf(': ') + 2));
  }
}

/** The hours of `--hours`. */
export function hoursOf(options: GivenOptions): number {
  const wanted = 'give hours above 0 and up to 1000, such as --hours 8';
  const hours = numberGiven(options, 'hours', `time; ${wanted}`, (value) => value > 0 && value <= 1000);
  if (hours === undefined) throw fault('hours', `the time on the bench is missing; ${wanted}`);
  return hours;
}

/** The goal as given, which the plan reads with the names of the bench. */
export function goalOf(options: GivenOptions): Pick<PlanOptions, 'goal' | 'margin_K'> {
  return {
    ...(typeof options.goal === 'string' && { goal: options.goal as PlanGoal }),
    ...readMargin(options),
  };
}

/** Pairs shown; --json gives all. */
const MOST_PAIRS = 30;

function runSheet(result: PlanResult, width: number): string {
  let minutes = 0;
  const isOnSeveral = result.runs.some(({ source }) => source !== result.source);
  return table(
    [
      { title: 'cooler', align: 'left' },
      { title: 'run', align: 'right' },
      ...(isOnSeveral ? [{ title: 'on', align: 'left' } as const] : []),
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
        ...(isOnSeveral ? [run.source] : []),
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
        `run ${order}, ${cooler}: go up by way of ${climb_W.map(plain).join(', ')} W to ${load(power_W)}, which is more than was run on it; wait at each load until the source has nearly settled (a third of a settling time, counted in the hours)`,
    );
  const all = [...climbs, ...new Set(warnings)];
  return all.length === 0 ? [] : ['Before the runs', ...all.flatMap((one) => wrap(`- ${one}`, width, 2)), ''];
}

/** The source asked about, and the heater where runs are on that too. */
function sourcesOf({ source, runs }: PlanResult): string {
  return runs.some((run) => run.source !== source) ? `${source}, with the heater` : source;
}

/**
 * What `plan` found, for a person: a run sheet to print, with the safety lines, and what the runs should buy.
 *
 * @returns text with a line end after the last line
 */
function planTables(result: PlanResult, width = 80): string {
  const { expected } = result;
  const lines: string[] = [
    `Run sheet, ${result.bench}, source: ${sourcesOf(result)}, ${expected.hours.toFixed(1)} h`,
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
        'Told ever: with any number of mounts of the samples at hand, at that load. Mounts and samples of each: how many would resolve the difference as estimated now, with one reading a mount.',
        width,
      ),
    );
  }
  return `${lines.join('\n')}\n`;
}
