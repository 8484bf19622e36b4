import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { readBench } from '../../src/bench/read-bench.ts';
import { datasetIdentity } from '../../src/months/dataset-identity.ts';
import { decisionRecord, excludedFrom } from '../../src/months/decision-record.ts';
import { readDecisions } from '../../src/months/read-decisions.ts';

const bytes = (text: string) => new TextEncoder().encode(text);
const YAML = 'name: attic\n';
const RUNS =
  'run,cooler,mount,power_W,fan_rpm,source_C,ambient_C\nr1,Rush,1,100,900,45,22\nr2,Rush,2,100,900,46,22\n';

function files(decisions?: string, runs = RUNS): Map<string, Uint8Array> {
  return new Map([
    ['runs.csv', bytes(runs)],
    ['bench.yaml', bytes(YAML)],
    ['notes.txt', bytes('no part of the data')],
    ...(decisions === undefined ? [] : [['decisions.yaml', bytes(decisions)] as const]),
  ]);
}

const record = (decisions?: string, runs?: string) => {
  const all = files(decisions, runs);
  return decisionRecord(all, readBench(all));
};

describe('the identity of a dataset', () => {
  it('is the SHA-256 of a list that any tool can make again', () => {
    const hash = (text: string) => createHash('sha256').update(text).digest('hex');
    const list = `${hash(YAML)}  bench.yaml\n${hash(RUNS)}  runs.csv\n`;
    expect(datasetIdentity(files()).sha256).toBe(hash(list));
  });

  it('hangs on the data alone: not on notes, the record, the order or the folder', () => {
    const inFolder = new Map([...files('charts: []')].map(([name, content]) => [`attic/${name}`, content]));
    expect(datasetIdentity(inFolder).sha256).toBe(datasetIdentity(files()).sha256);
    expect(datasetIdentity(files(undefined, RUNS.replace('46', '47'))).sha256).not.toBe(
      datasetIdentity(files()).sha256,
    );
  });
});

describe('the record of a published chart', () => {
  const { dataset } = record();
  const published = `charts:
  - chart: spring
    published: 2025-03-14
    dataset: ${dataset}
    excluded:
      - {name: Rush/1/2, reason: the probe fell off}
`;

  it('says that the files are those of the chart, and what was left out', () => {
    const [chart] = record(published).charts;
    expect(chart.state).toBe('as published');
    expect(chart.excluded).toEqual([{ name: 'Rush/1/2', reason: 'the probe fell off', in_bench: true }]);
    expect(chart.verdict).toBe(
      'Chart "spring" of 2025-03-14: 1 item was left out; the files are the ones it was drawn from.',
    );
    expect(excludedFrom(record(published), 'spring')).toEqual(['Rush/1/2']);
    expect(() => excludedFrom(record(published), 'autumn')).toThrow('recorded are spring');
  });

  it('sees a change that no correction says, and one that is', () => {
    const changed = RUNS.replace('46', '46.5');
    expect(record(published, changed).charts[0].state).toBe('changed since');
    const after = record(undefined, changed).dataset;
    const corrected = `${published}    corrections:\n      - {date: 2025-04-02, what: r2 was read a line too low, dataset: ${after}}\n`;
    const [chart] = record(corrected, changed).charts;
    expect(chart.state).toBe('as corrected');
    expect(chart.verdict).toContain('those of its correction of 2025-04-02');
    expect(record(corrected).charts[0].state).toBe('changed since');
  });

  it('warns of what is no longer there', () => {
    const gone = published.replace('Rush/1/2', 'r9');
    expect(record(gone).charts[0].excluded[0].in_bench).toBe(false);
    expect(record(gone).warnings[0]).toBe(
      'decisions.yaml:6:16: "r9", left out of the chart "spring", is now neither a run nor a mount of the bench',
    );
  });
});

describe('decisions.yaml', () => {
  it.each([
    ['charts: [', /^decisions\.yaml:1:\d+: wrong indentation, or a bracket that is not closed/],
    ['chart: spring', /^decisions\.yaml:1:1: "chart" is not a key of the file; accepted are charts$/],
    ['charts:\n  - {chart: spring}', /^decisions\.yaml:2:5: a chart needs the key published$/],
    [
      'charts:\n  - {chart: spring, published: March}',
      /^decisions\.yaml:2:32: published is "March"; a date such as/,
    ],
    [
      'charts:\n  - {chart: spring, published: 2025-03-14, dataset: abc}',
      /^decisions\.yaml:2:53: dataset is "abc"; a SHA-256 of 64/,
    ],
    [
      'charts:\n  - {chart: a, published: 2025-03-14}\n  - {chart: a, published: 2025-03-15}',
      /^decisions\.yaml:3:5: the chart "a" is there already/,
    ],
    [
      'charts:\n  - {chart: a, published: 2025-03-14, excluded: [{name: r1}]}',
      /^decisions\.yaml:2:\d+: an exclusion needs the key reason$/,
    ],
  ])('is refused at the place of its fault: %j', (text, message) => {
    expect(() => readDecisions(text)).toThrow(message);
  });

  it('may be empty', () => {
    expect(readDecisions('')).toEqual([]);
    expect(readDecisions('charts:\n')).toEqual([]);
  });
});
