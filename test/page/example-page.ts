import type { Bench } from '../../src/bench/bench.ts';
import { pageDocument } from '../../src/report/document.ts';
import { gatherPage, pageLoads } from '../../src/report/gather.ts';
import type { PageData } from '../../src/report/page/page-data.ts';
import { pageScript, pageStyle } from '../../src/report/page.generated.ts';
import { plotlyGzipBase64, plotlySha256 } from '../../src/report/plotly.generated.ts';
import type { CompareResult } from '../../src/results.ts';
import { EXAMPLE_NAMES, exampleCompare, exampleFit, examplePredict } from '../cli/example-results.ts';

export const EXAMPLE_LOADS = pageLoads([60, 120, 180], []);

/** A page of made-up results of the right shape, with one name that would be markup if it were not escaped. */
export function examplePage(): { html: string; data: PageData; compare: CompareResult } {
  const predict = examplePredict(EXAMPLE_LOADS);
  const compare = exampleCompare(EXAMPLE_LOADS);
  const runs = EXAMPLE_NAMES.flatMap((cooler, i) =>
    [60, 120, 180].flatMap((power_W) => {
      const p = examplePredict([power_W]).predictions[i];
      return [-0.2, 0.15].map((scatter) => ({
        cooler,
        source: 'heater',
        power_W,
        fan_rpm: p.fan_rpm,
        source_C: 22 + p.rise_K + scatter,
        ambient_C: 22,
      }));
    }),
  );
  const bench = {
    name: 'Reed Lane <b>bench</b> & co',
    ambient: { setpoint_C: 22, tolerance_K: 1 },
    heater: { temperature_limit_C: 95, leak_W_per_K: { value: 0, uncertainty: 0.05 } },
    chips: [],
    runs,
    warnings: ['runs.csv:3:1: <script>alert(1)</script> is no mount'],
  } as unknown as Bench;
  const data = gatherPage(bench, {}, { fit: exampleFit(), predict, compare });
  const html = pageDocument(data, {
    script: pageScript,
    style: pageStyle,
    chartLibraryGzipBase64: plotlyGzipBase64,
    chartLibrarySha256: plotlySha256,
  });
  return { html, data, compare };
}
