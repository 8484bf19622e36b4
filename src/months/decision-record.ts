import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { namesOf } from '../bench/mounts.ts';
import { withoutLeadingFolder } from '../bench/read-bench.ts';

import { datasetIdentity } from './dataset-identity.ts';
import { DECISIONS_FILE } from './decisions-file.ts';
import { type RecordedChart, readDecisions } from './read-decisions.ts';

/** What stands behind a published chart. */
export interface ChartDecisions {
  chart: string;
  published: string;
  /** Identity of the dataset as noted at publication; null where it was not. */
  dataset: string | null;
  /** Whether the files are those of the publication, those of its last correction, others, or not known. */
  state: 'as published' | 'as corrected' | 'changed since' | 'not noted';
  excluded: { name: string; reason: string; in_bench: boolean }[];
  corrections: { date: string; what: string; dataset: string | null }[];
  verdict: string;
}

export interface DecisionRecord {
  bench: string;
  /** SHA-256 of the list of the bench's files with theirs, hexadecimal. */
  dataset: string;
  files: { file: string; sha256: string }[];
  charts: ChartDecisions[];
  warnings: string[];
}

/**
 * What stands behind each published chart: which data to the last byte, what was left out of them and why, and what was
 * put right since.
 *
 * The decisions are the lab's and stand in `decisions.yaml` of the bench folder; whether the files are still those that a chart
 * was drawn from is reckoned here. Without that file the record holds the identity of the data alone.
 *
 * @param files  as for `readBench`
 * @param bench  what `readBench` made of them
 * @param hashes  as for `datasetIdentity`
 * @throws BenchError at the first fault of `decisions.yaml`
 * @example decisionRecord(files, readBench(files)).dataset // of 64 hexadecimal digits
 */
export function decisionRecord(
  files: Map<string, Uint8Array>,
  bench: Bench,
  hashes?: ReadonlyMap<string, string>,
): DecisionRecord {
  const identity = datasetIdentity(files, hashes);
  const bytes = withoutLeadingFolder(files).get(DECISIONS_FILE);
  const recorded = bytes ? readDecisions(textOf(bytes)) : [];
  const names = new Set(bench.runs.flatMap(namesOf));
  const charts = recorded.map((chart) => decisionsOf(chart, identity.sha256, names));
  const warnings = recorded.flatMap(({ excluded, chart }) =>
    excluded
      .filter(({ name }) => !names.has(name))
      .map(
        ({ name, line, column }) =>
          `${DECISIONS_FILE}:${line}:${column}: "${name}", left out of the chart "${chart}", is now neither a run nor a mount of the bench`,
      ),
  );
  return { bench: bench.name, dataset: identity.sha256, files: identity.files, charts, warnings };
}

/**
 * What was left out of a published chart, as the condition `without` takes it, to draw it again.
 *
 * @throws BenchError where no chart of that name is recorded
 */
export function excludedFrom(record: DecisionRecord, chart: string): string[] {
  const found = record.charts.find((one) => one.chart === chart);
  if (!found) {
    const there = record.charts.map((one) => one.chart).join(', ') || 'none';
    throw new BenchError(DECISIONS_FILE, 1, 1, `no chart "${chart}" is recorded; recorded are ${there}`);
  }
  return found.excluded.filter(({ in_bench }) => in_bench).map(({ name }) => name);
}

/** A recorded chart against the files as they are now. */
function decisionsOf(recorded: RecordedChart, now: string, names: ReadonlySet<string>): ChartDecisions {
  const { chart, published, dataset, corrections } = recorded;
  const corrected = corrections.filter((one) => one.dataset !== undefined).at(-1);
  let state: ChartDecisions['state'] = 'changed since';
  if (dataset === undefined && !corrected) state = 'not noted';
  else if ((corrected?.dataset ?? dataset) === now) state = corrected ? 'as corrected' : 'as published';
  const excluded = recorded.excluded.map(({ name, reason }) => ({ name, reason, in_bench: names.has(name) }));
  return {
    chart,
    published,
    dataset: dataset ?? null,
    state,
    excluded,
    corrections: corrections.map(({ date, what, dataset: after }) => ({
      date,
      what,
      dataset: after ?? null,
    })),
    verdict: verdictOf(chart, published, state, corrected?.date, excluded.length),
  };
}

/** Whether a published chart still stands on the files as they are, in a sentence. */
function verdictOf(
  chart: string,
  published: string,
  state: ChartDecisions['state'],
  corrected: string | undefined,
  excluded: number,
): string {
  const left =
    excluded === 0
      ? 'nothing was left out'
      : `${excluded} ${excluded === 1 ? 'item was' : 'items were'} left out`;
  const head = `Chart "${chart}" of ${published}: ${left}`;
  switch (state) {
    case 'as published':
      return `${head}; the files are the ones it was drawn from.`;
    case 'as corrected':
      return `${head}; the files are those of its correction of ${corrected}.`;
    case 'not noted':
      return `${head}; the files it was drawn from were not recorded, so changes cannot be seen. Add dataset: to its record.`;
    default:
      return `${head}; the files have changed since ${corrected ? `its correction of ${corrected}` : 'it was drawn'}, and no correction names them as they are now.`;
  }
}

function textOf(bytes: Uint8Array): string {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    throw new BenchError(DECISIONS_FILE, 1, 1, 'the file is not UTF-8 text; save it as UTF-8');
  }
}
