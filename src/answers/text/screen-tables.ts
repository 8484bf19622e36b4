import { mountName } from '../../bench/mounts.ts';
import { SAFETY_IN_SHORT } from '../../report/safety.ts';
import type { MountVerdict, RunVerdict, ScreenResult } from '../../results.ts';
import { sideBySide } from './side-by-side.ts';
import { table } from './table.ts';
import { wrap } from './text-width.ts';
import { fixed } from './uncertainty.ts';
import { chance, counted } from './wording.ts';

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

/** A second cause with at least this share of the first one's chance is named beside it. */
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
      "o: a mount's resistance less its cooler's own, free of load and speed; - two standard uncertainties (±) either way; ( ) twice the scatter of mounts, by which they are judged; | zero.";
    lines.push('Mounts side by side', beside, ...wrap(legend, width), '');
  }
  lines.push(
    ...wrap(
      'Straggler: p between 1 % and 5 %, outlier: below 1 %, after adjustment for the number judged (ISO 5725-2). Off by: read less what all others predict.',
      width,
    ),
  );
  return `${lines.join('\n')}\n`;
}
