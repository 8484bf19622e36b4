import { describe, expect, it } from 'vitest';
import type { Run } from './bench.ts';
import { readBench } from './read-bench.ts';
import { writeRuns } from './write-runs.ts';

function runsOf(text: string): Run[] {
  const bytes = (part: string) => new TextEncoder().encode(part);
  return readBench(
    new Map([
      ['bench.yaml', bytes('name: attic\n')],
      ['runs.csv', bytes(text)],
    ]),
  ).runs;
}

// Written, every run has an id of its own.
const lineless = (runs: Run[]) => runs.map(({ line: _, unnamed: __, ...run }) => run);

describe('runs written as runs.csv', () => {
  it('are read back as the same runs, further columns and odd texts included', () => {
    const runs = runsOf(
      [
        'cooler,power_kW,fan_rpm,source_C,ambient_C,mount,note,shelf,u_K,started',
        '"Reed, black",0.1825,900,61.5,22,1,"two\nlines",B,0.02,2024-05-31',
        "Heron,0.1,900,50.0625,22,,'=1+1,,,",
        'Heron,0.07,900,45,22,"a ""b""",,,,',
      ].join('\n'),
    );
    const text = writeRuns(runs);
    expect(text).toContain(',182.5,');
    expect(lineless(runsOf(text))).toEqual(lineless(runs));
    expect(writeRuns(runsOf(text))).toBe(text);
    expect(runs.map((run) => run.extra.shelf)).toEqual(['B', undefined, undefined]);
  });

  it('have no quantity twice, whatever the index of the logs says beside', () => {
    const [run] = runsOf('cooler,power_W,fan_rpm,source_C,ambient_C,mount\nHeron,100,900,45,22,1\n');
    const text = writeRuns([{ ...run, extra: { power_kW: '0.2', cooler: 'Reed', shelf: 'B' } }]);
    expect(lineless(runsOf(text))).toEqual(lineless([{ ...run, extra: { shelf: 'B' } }]));
  });

  it('have no column that no run fills, but for those every bench has', () => {
    const text = writeRuns(runsOf('cooler,power_W,fan_rpm,source_C,ambient_C\nHeron,100,900,45,22\n'));
    expect(text).toBe(
      'run,cooler,sample,mount,source,power_W,fan_rpm,source_C,ambient_C\nrun-2,Heron,1,,heater,100,900,45,22\n',
    );
  });
});
