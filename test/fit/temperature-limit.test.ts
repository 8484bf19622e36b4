import { expect, it } from 'vitest';
import { fit as fitBench } from '../../src/answers/fit.ts';
import { predict } from '../../src/answers/predict.ts';
import type { Bench } from '../../src/bench/bench.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { temperatureLimit } from '../../src/bench/source.ts';
import { posteriorFor } from '../../src/fit/posterior-for.ts';
import { posteriorOf } from '../../src/fit/posterior-of.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { reachableLoad } from '../../src/predict/reachable-load.ts';
import { Answers } from '../../src/report/answers.ts';
import { riseChart } from '../../src/report/charts/rise-chart.ts';
import { fixedInk } from '../../src/report/page/ink.ts';
import { pageData } from '../../src/report/page-data.ts';
import { FIRST_VIEW, shownAt } from '../../src/report/shown.ts';
import { firstState } from '../../src/report/state.ts';
import { chipBench } from '../benchmarks/chip-study.ts';

/** A bench whose chip has no limit of its own, but the shape of a shipped source, which has one: 95 °C. */
function shapedBench(): Bench {
  const { files } = makeVirtualBench({ ...chipBench(1, 0), coolers: 3, samples: 1, chips: [] });
  const yaml = new TextDecoder().decode(files.get('bench.yaml'));
  const shaped = `${yaml}chips: [{chip: Kestrel, geometry: one-die}]\n`;
  return readBench(new Map([...files, ['bench.yaml', new TextEncoder().encode(shaped)]]));
}

it('knows one temperature limit of a chip in every answer, that of its geometry too', () => {
  const bench = shapedBench();
  expect(temperatureLimit(bench, 'Kestrel')).toBe(95);
  expect(fitBench(bench, { source: 'Kestrel' }).limits?.map((one) => one.limit_C)).toEqual([95, 95, 95]);
  for (const p of predict(bench, { source: 'Kestrel', power_W: [400] }).predictions) {
    expect(p.rise_K + bench.ambient.setpoint_C).toBeGreaterThan(95);
    expect(p.notes.join()).toMatch(/above the Kestrel's limit: \d+(\.\d)? °C against 95 °C/);
  }
});

it('plans no load that passes it, and draws it on the page', () => {
  const bench = shapedBench();
  const posterior = posteriorFor(bench, 'Kestrel');
  const [cooler] = posterior.coolers;
  const planned_W = reachableLoad(posterior, cooler, 1, 22);
  const [at] = predict(bench, { source: 'Kestrel', power_W: [planned_W], coolers: ['cooler-1'] }).predictions;
  expect(planned_W).toBeLessThan(2 * cooler.data.powerHigh_W);
  expect(at.rise_K).toBeLessThan(95 - 22);
  const asked = { source: 'Kestrel', power_W: [400] };
  const more = { version: '', hashes: [], sections: '', control: null };
  const answers = new Answers(pageData(bench, [posteriorOf(bench)], asked, more));
  const shown = shownAt(answers, firstState(answers), FIRST_VIEW);
  const { layout } = riseChart.draw(shown, fixedInk(false), { width: 900, height: 500 });
  expect(JSON.stringify(layout)).toContain('limit of the source, 95 °C');
});
