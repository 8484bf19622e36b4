import { expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import { posteriorFor } from '../fit/posterior-for.ts';
import { posteriorOf } from '../fit/posterior-of.ts';
import { predictFrom } from '../predict/predict.ts';
import { Answers } from './answers.ts';
import { fittedSources, pageData } from './page-data.ts';

const runs = `cooler,source,mount,power_W,fan_rpm,source_C,ambient_C
Plover,heater,1,60,1500,34,22
Plover,heater,1,120,1500,46,22
Plover,heater,2,180,1500,58.5,22
Plover,Merle,1,90,1500,47,22
Dunlin,Merle,1,90,1500,49,22
Dunlin,Merle,2,140,1500,63,22
`;

it('answers for a cooler that was run on a chip alone from what the page holds, as the command does', () => {
  const bytes = (text: string) => new TextEncoder().encode(text);
  const bench = readBench(
    new Map([
      ['bench.yaml', bytes('chips:\n- chip: Merle\n')],
      ['runs.csv', bytes(runs)],
    ]),
  );
  expect(fittedSources(bench)).toEqual(['heater', 'Merle']);
  const posteriors = fittedSources(bench).map((source) => posteriorOf(bench, source));
  const answers = new Answers(
    pageData(bench, posteriors, {}, { version: '', hashes: [], sections: '', control: null }),
  );
  expect(answers.sources).toEqual(['heater', 'Merle']);
  const asked = { source: 'Merle', power_W: [120] };
  const here = predictFrom(answers.posterior('Merle'), asked).predictions;
  const there = predictFrom(posteriorFor(bench, 'Merle'), asked).predictions;
  expect(here.map((one) => one.cooler)).toEqual(['Plover', 'Dunlin']);
  here.forEach((one, k) => {
    expect(one.rise_K).toBeCloseTo(there[k].rise_K, 9);
    expect(one.mean_high_K).toBeCloseTo(there[k].mean_high_K, 9);
  });
});
