import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { mountName } from '../bench/mounts.ts';
import { isZeroLoad } from '../bench/run.ts';
import { benchTime } from '../design/bench-time.ts';
import type { Conditions } from '../predict/conditions.ts';
import { SAFETY_IN_SHORT } from '../report/safety.ts';
import type { MountVerdict, RunVerdict, ScreenedSource } from '../screen/screen-posterior.ts';
import { screenedSource } from '../screen/strange.ts';
import { tellingRun } from '../screen/telling-run.ts';
import { withoutRuns } from '../screen/without.ts';
import type { Command } from './options/command.ts';
import { answerFromBench, answerOptions } from './options/print-answer.ts';

import { sideBySide } from './text/side-by-side.ts';
import { table } from './text/table.ts';
import { wrap } from './text/text-width.ts';
import { fixed } from './text/uncertainty.ts';
import { chance, counted } from './text/wording.ts';

export const command: Command = {
  name: 'screen',
  operand: 'bench',
  about: `Judges every run and every mount by all the others: stragglers and outliers in
the words of ISO 5725-2, the likely cause of each, and the cheapest run that
would confirm it. Nothing is left out automatically.`,
  example: 'heatladder screen demo-bench',
  options: () => {
    const { source, cooler, without, json } = answerOptions;
    return { source, cooler, without, json };
  },
  run: (call) => answerFromBench(call, screen, screenTables),
};

export interface ScreenResult {
  bench: string;
  method: string;
  runs: RunVerdict[];
  mounts: MountVerdict[];
  warnings: string[];
}

/**
 * Strange runs and mounts of a bench, each with its likely cause and the run that would tell.
 *
 * Nothing is taken out of the bench: whoever wants to see what an answer owes to a strange mount asks again without it.
 *
 * @param conditions  `source` (default: every source with runs) and `coolers` (which to report) count
 * @throws BenchError where there is nothing to judge
 */
export function screen(whole: Bench, conditions: Conditions = {}): ScreenResult {
  const bench = withoutRuns(whole, conditions.without);
  const there = [...new Set(bench.runs.filter((run) => !isZeroLoad(run)).map((run) => run.source))];
  const sources =
    conditions.source === undefined ? there : there.filter((name) => name === conditions.source);
  if (sources.length === 0) {
    const has =
      there.length > 0 ? `runs are there on ${there.join(', ')}` : 'the bench has no runs under load';
    throw new BenchError(
      '--source',
      1,
      1,
      `no runs with heat on the source "${conditions.source ?? 'heater'}"; ${has}`,
    );
  }
  const screened = sources.map((source) => screenedSource(bench, source));
  const time = benchTime(bench);
  for (const { mounts, judged, clean } of screened) {
    mounts.forEach((mount, k) => {
      if (mount.verdict !== 'ok') mount.next_run = tellingRun(bench, clean, judged[k], time);
    });
  }
  const wanted = conditions.coolers;
  const coolerOf = new Map(bench.runs.map((run) => [run.run, run.cooler]));
  const result: ScreenResult = {
    bench: bench.name,
    method: METHOD,
    runs: screened
      .flatMap((one) => one.runs)
      .filter((run) => !wanted || wanted.includes(coolerOf.get(run.run) ?? '')),
    mounts: screened.flatMap((one) => one.mounts).filter((mount) => !wanted || wanted.includes(mount.cooler)),
    warnings: [...bench.warnings, ...outOfTolerance(bench), ...screened.flatMap(warningsOf)],
  };
  return result;
}

/** Names the runs in which the room was not as the bench asks for; an answer corrects for ambient, a fan and a pipe feel it all the same. */
function outOfTolerance({ ambient: { setpoint_C, tolerance_K }, runs }: Bench): string[] {
  const out = runs.filter(({ ambient_C }) => Math.abs(ambient_C - setpoint_C) > tolerance_K + 1e-9);
  if (out.length === 0) return [];
  const named = out.slice(0, MOST_NAMED).map(({ run, ambient_C }) => `${run} at ${ambient_C} °C`);
  const more = out.length > MOST_NAMED ? ` and ${out.length - MOST_NAMED} more` : '';
  return [`the room was outside ${setpoint_C} ± ${tolerance_K} °C in ${named.join(', ')}${more}`];
}

const MOST_NAMED = 3;

const METHOD =
  'Deleted residuals under the full scatter model (sample, mount, session, reading, shape), each suspect judged with the scatter estimated ' +
  'without it; p adjusted for the number judged (Holm), half of the level for the mounts and half for the runs, the two mounts of a cooler one test; a mount also by its chance of being in order, all mounts of the bench weighed at once. Straggler: p between 1 % and 5 %, outlier: below 1 % ' +
  '(ISO 5725-2). Causes by marginal likelihood over usual sizes of each fault.';

function warningsOf({ mounts, judged, notes, clean }: ScreenedSource): string[] {
  const strange = mounts.filter((mount) => mount.verdict !== 'ok');
  const names = strange.map(mountName).join(',');
  return [
    ...clean.posterior.warnings,
    ...new Set(notes),
    ...new Set(
      mounts.flatMap(({ verdict, cooler, causes }, k) => {
        const likeliest = causes.slice(0, 2).map((one) => one.cause);
        const isTie = likeliest.includes('interface') && likeliest.includes('pump');
        if (verdict === 'ok' || !isTie || judged[k].coolant) return [];
        return [
          `${cooler}: without coolant_C a slow pump and a poor interface look alike; read the coolant on its mounts from now on`,
        ];
      }),
    ),
    ...(strange.length > 0
      ? [
          `nothing is left out automatically; to see what depends on them, run fit and compare with --without '${names}'`,
        ]
      : []),
  ];
}

/** Rows shown; --json gives all. */
const MOST_ROWS = 30;

/** A p for people: never zero. */
function pText(p: number): string {
  return p < 1e-4 ? 'under 0.0001' : p.toFixed(4);
}

function causeText(one: MountVerdict | RunVerdict): string {
  return one.likely_cause === null || one.cause_probability === null
    ? '-'
    : `${one.likely_cause} (${chance(one.cause_probability)} %)`;
}

/** A second cause with at least this share of the first one's chance is named beside it (an assumption). */
const AS_LIKELY = 0.8;

/** The likely cause of a mount, and the one that is as likely. */
function mountCauseText(one: MountVerdict): string {
  const [first, second] = one.causes;
  if (!first) return causeText(one);
  const text = `${first.cause} (${chance(first.probability)} %)`;
  return second && second.probability >= AS_LIKELY * first.probability
    ? `${text} or ${second.cause} (${chance(second.probability)} %)`
    : text;
}

function mountTable(mounts: readonly MountVerdict[], width: number): string {
  return table(
    [
      { title: 'mount', align: 'left' },
      { title: 'source', align: 'left' },
      { title: 'verdict', align: 'left' },
      { title: 'p', align: 'right' },
      { title: 'likely cause', align: 'left' },
    ],
    mounts.map((one) => [mountName(one), one.source, one.verdict, pText(one.p), mountCauseText(one)]),
    { width },
  );
}

function runTable(runs: readonly RunVerdict[], width: number): string {
  return table(
    [
      { title: 'run', align: 'left' },
      { title: 'verdict', align: 'left' },
      { title: 'p', align: 'right' },
      { title: 'off by', unit: 'K', align: 'right' },
      { title: 'likely cause', align: 'left' },
    ],
    runs.map((one) => [one.run, one.verdict, pText(one.p), fixed(one.residual_K, 1), causeText(one)]),
    { width },
  );
}

/**
 * What `screen` found, for a person: the strange mounts, the strange runs, what to run next, and each cooler's mounts side by side.
 *
 * @returns text with a line end after the last line
 */
export function screenTables(result: ScreenResult, width = 80): string {
  const mounts = result.mounts.filter((one) => one.verdict !== 'ok');
  const runs = result.runs.filter((one) => one.verdict !== 'ok');
  const judged = `${counted(result.mounts.length, 'mount')} and ${counted(result.runs.length, 'run')} judged`;
  const lines: string[] = [];
  if (mounts.length === 0 && runs.length === 0) {
    lines.push(`${judged}: none is strange.`, '');
  } else {
    const strange = [
      ...(mounts.length > 0 ? [counted(mounts.length, 'mount')] : []),
      ...(runs.length > 0 ? [counted(runs.length, 'run')] : []),
    ];
    const are = mounts.length + runs.length === 1 ? 'is' : 'are';
    lines.push(`${judged}: ${strange.join(' and ')} ${are} strange.`, '');
  }
  if (mounts.length > 0) lines.push('Mounts', mountTable(mounts.slice(0, MOST_ROWS), width), '');
  if (runs.length > 0) lines.push('Runs', runTable(runs.slice(0, MOST_ROWS), width), '');
  if (runs.length > MOST_ROWS || mounts.length > MOST_ROWS) lines.push('--json gives all of them.', '');
  for (const { cooler, sample, mount, remark, next_run } of mounts) {
    if (remark !== null) lines.push(...wrap(`${cooler}/${sample}/${mount}: ${remark}.`, width, 2));
    if (next_run === null) continue;
    const text = `${cooler}/${sample}/${mount}: to tell ${next_run.between[0]} from ${next_run.between[1]}, ${next_run.minutes} min: ${next_run.why}.`;
    lines.push(...wrap(text, width, 2));
  }
  if (mounts.some(({ next_run }) => next_run !== null)) lines.push(...wrap(SAFETY_IN_SHORT, width));
  if (mounts.some((one) => one.next_run !== null || one.remark !== null)) lines.push('');
  const beside = sideBySide(result.mounts, width);
  if (beside !== '') {
    const legend =
      'o: resistance of the mount minus that of its cooler, independent of load and speed; - two standard uncertainties (±) each way; ( ) twice the scatter of mounts, by which they are judged; | zero.';
    lines.push('Mounts side by side', beside, ...wrap(legend, width), '');
  }
  lines.push(
    ...wrap(
      'Straggler: p between 1 % and 5 %, outlier: below 1 %, after adjustment for the number judged (ISO 5725-2). Off by: reading minus what all other runs predict.',
      width,
    ),
  );
  return `${lines.join('\n')}\n`;
}
