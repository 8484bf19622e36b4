import type { Bench } from '../bench/bench.ts';
import { compare, fit as fitModels, predict } from '../commands.ts';
import type { Conditions } from '../results.ts';
import { pageDocument } from './document.ts';
import { gatherPage, pageLoads } from './gather.ts';
import { pageScript, pageStyle } from './page.generated.ts';
import { plotlyGzipBase64, plotlySha256 } from './plotly.generated.ts';

/**
 * One self-contained page of all that a bench says: the answer, the order at each load, rise against load, where the
 * order changes, differences, evidence and safety.
 *
 * @param conditions  as for `compare`; `power_W` adds loads to the page's grid, the greatest of them shown first
 * @returns HTML that opens from a file, asks the network for nothing, and runs only its own scripts
 * @throws BenchError on a condition that cannot be met
 */
export function report(bench: Bench, conditions: Conditions = {}): string {
  const source = conditions.source ?? 'heater';
  const asked = conditions.coolers;
  const run_W = bench.runs
    .filter((run) => run.source === source && (asked === undefined || asked.includes(run.cooler)))
    .map((run) => run.power_W);
  const onGrid: Conditions = { ...conditions, power_W: pageLoads(run_W, conditions.power_W ?? []) };
  const data = gatherPage(bench, conditions, {
    fit: fitModels(bench, conditions),
    predict: predict(bench, onGrid),
    compare: compare(bench, onGrid),
  });
  return pageDocument(data, {
    script: pageScript,
    style: pageStyle,
    chartLibraryGzipBase64: plotlyGzipBase64,
    chartLibrarySha256: plotlySha256,
  });
}
