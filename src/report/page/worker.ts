/**
 * The worker that reads and fits a bench folder inside the page: the same reader, reduction and fit as on the command
 * line. Nothing leaves it but its answer.
 */

import type { Bench } from '../../bench/bench.ts';
import { BenchError } from '../../bench/bench-error.ts';
import type { Saying } from '../../bench/headings.ts';
import { importInWords, importTable } from '../../bench/import-table.ts';
import { registerUnitConverter } from '../../bench/quantity.ts';
import { isRead, readBench } from '../../bench/read-bench.ts';
import { unitConverter } from '../../bench/unit-converter.ts';
import { unlistedUnits } from '../../bench/unlisted-units.ts';
import { keepLoggedTimes } from '../../design/bench-time.ts';
import type { BenchPosterior } from '../../fit/bench-posterior.ts';
import { useModelReader } from '../../fit/models-of.ts';
import { posteriorOf } from '../../fit/posterior-of.ts';
import { readModel } from '../../formula/read-model.ts';
import { decisionRecord } from '../../months/decision-record.ts';
import { requireBridges } from '../../months/method-bridge.ts';
import type { Conditions } from '../../predict/conditions.ts';
import { unpackBench } from '../bench-pack.ts';
import { comparedBench } from '../compared-bench.ts';
import { fileHashes } from '../file-hashes.ts';
import { fixedSections } from '../fixed-sections.ts';
import { fittedSources, pageData } from '../page-data.ts';
import { planFor } from '../page-plan.ts';
import { recordSection } from '../record-section.ts';
import { referenceControl } from '../reference-control.ts';
import type { FitReply, FitRequest } from './worker-messages.ts';

useModelReader(readModel);

const reply = (message: FitReply): void => (postMessage as (message: FitReply) => void)(message);

addEventListener('message', (event: MessageEvent<FitRequest>) => {
  answer(event.data).catch((error: unknown) => {
    const message = error instanceof Error ? error.message : String(error);
    reply({ kind: 'fault', message, ours: !(error instanceof BenchError) });
  });
});

/** The page has no options: what a column is stands in its heading. */
const sayInHeading: Saying = (meant) =>
  meant.map(([heading, name]) => `${heading} → ${name || 'another heading'}`).join(', ');

async function answer(request: FitRequest): Promise<void> {
  if (request.kind === 'without') return refit(request);
  if (request.kind === 'plan') return replan(request);
  reply({ kind: 'progress', words: 'reading', share: 0.02 });
  const { kind, files: given, version } = request;
  const made = kind === 'table' ? importTable(...given[0], { saying: sayInHeading }) : undefined;
  const list = made ? [...made.files] : given;
  const files = new Map(list.filter(([path]) => isRead(path)));
  if (unlistedUnits(files).length > 0) registerUnitConverter(unitConverter);
  const whole = readBench(files);
  const record = decisionRecord(new Map(list), whole);
  const { bench, posteriors } = fitted(whole, {});
  const more = {
    version,
    hashes: fileHashes(files),
    sections: fixedSections(bench) + recordSection(record),
    control: referenceControl(whole),
    whole,
  };
  reply({ kind: 'done', read: made ? importInWords(made) : [], data: pageData(bench, posteriors, {}, more) });
}

/** The same bench without some of its runs, the rest of what the page holds as it was. */
function refit({ data, without }: Extract<FitRequest, { kind: 'without' }>): void {
  const whole = unpackBench(data.whole ?? data.bench);
  const asked = { ...data.asked, without };
  const { bench, posteriors } = fitted(whole, asked);
  keepLoggedTimes(bench, new Map(data.logged_min));
  reply({ kind: 'done', read: [], data: pageData(bench, posteriors, asked, { ...data, whole }) });
}

/** What the page holds with a plan for another goal. */
function replan({ data, goal }: Extract<FitRequest, { kind: 'plan' }>): void {
  const { bench } = fitted(unpackBench(data.bench), {});
  keepLoggedTimes(bench, new Map(data.logged_min));
  reply({ kind: 'progress', words: 'planning', share: 0.95 });
  reply({ kind: 'done', read: [], data: { ...data, plan: planFor(bench, goal) } });
}

function fitted(whole: Bench, conditions: Conditions): { bench: Bench; posteriors: BenchPosterior[] } {
  const bench = comparedBench(whole, conditions);
  const sources = fittedSources(bench);
  if (sources.length === 0) {
    throw new BenchError('runs.csv', 1, 1, 'no run has heat on; give at least one run with power above 0 W');
  }
  requireBridges(
    bench,
    bench.coolers.map((one) => one.cooler),
  );
  const posteriors = sources.map((source, s) =>
    posteriorOf(bench, source, (done, total) => {
      const share = (s + done / total) / sources.length;
      reply({ kind: 'progress', words: `fitting the runs on ${source}`, share: 0.05 + 0.9 * share });
    }),
  );
  return { bench, posteriors };
}
