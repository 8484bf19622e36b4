import type { Bench } from '../bench/bench.ts';
import { posteriorFor } from '../fit/posterior-for.ts';
import { posteriorOf } from '../fit/posterior-of.ts';
import type { DecisionRecord } from '../months/decision-record.ts';
import { requireBridges } from '../months/method-bridge.ts';
import { coolersAsked, levelOf, loadsAsked } from '../predict/at-conditions.ts';
import type { Conditions } from '../predict/conditions.ts';
import { comparedBench } from './compared-bench.ts';
import { pageDocument } from './document.ts';
import { engineGzipBase64 } from './engine.generated.ts';
import type { FileHash } from './file-hashes.ts';
import { fixedSections } from './fixed-sections.ts';
import { pageScriptGzipBase64, pageScriptSha256, pageStyle, pageVersion } from './page.generated.ts';
import { fittedSources, pageData } from './page-data.ts';
import { plotlyGzipBase64, plotlySha256 } from './plotly.generated.ts';
import { recordSection } from './record-section.ts';
import { referenceControl } from './reference-control.ts';

/** What a page says besides its answers. */
export interface ReportOptions {
  /** SHA-256 of the files that were read, for the evidence; see `datasetIdentity`. */
  hashes?: readonly FileHash[];
  /** What stands behind published charts; see `decisionRecord`. */
  record?: DecisionRecord;
}

/**
 * One self-contained page of all that a bench says: the answer at any load and condition, charts to publish, where the
 * order changes, differences, evidence and safety.
 *
 * @param conditions  as for `compare`: the conditions shown first, with the greatest load asked for; `coolers` and `level`
 *   hold for the whole page
 * @returns HTML that opens from a file, asks the network for nothing, and runs only its own scripts
 * @throws BenchError on a condition that cannot be met
 */
export function report(whole: Bench, conditions: Conditions = {}, options: ReportOptions = {}): string {
  levelOf(conditions);
  loadsAsked(conditions, () => [1]);
  const bench = comparedBench(whole, conditions);
  const asked = coolersAsked(posteriorFor(bench, conditions.source), conditions);
  requireBridges(
    bench,
    asked.map((cooler) => cooler.data.cooler.cooler),
  );
  const posteriors = fittedSources(bench).map((source) => posteriorOf(bench, source));
  const data = pageData(bench, posteriors, conditions, {
    version: pageVersion,
    hashes: options.hashes ?? [],
    sections: fixedSections(bench) + recordSection(options.record ?? null),
    control: referenceControl(whole),
    whole,
  });
  return pageDocument(data, {
    scriptGzipBase64: pageScriptGzipBase64,
    scriptSha256: pageScriptSha256,
    style: pageStyle,
    chartLibraryGzipBase64: plotlyGzipBase64,
    chartLibrarySha256: plotlySha256,
    engineGzipBase64,
  });
}
