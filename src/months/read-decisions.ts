import { isoDate } from '../bench/dates.ts';
import { type YamlEntry, YamlFile } from '../bench/yaml-file.ts';
import { DECISIONS_FILE } from './decisions-file.ts';

/** A published chart as `decisions.yaml` records it. */
export interface RecordedChart {
  readonly chart: string;
  /** ISO 8601 date. */
  readonly published: string;
  /** Identity of the dataset that it was drawn from, where it was noted. */
  readonly dataset?: string;
  readonly excluded: readonly Exclusion[];
  readonly corrections: readonly RecordedCorrection[];
  readonly line: number;
}

/** A run (by id) or a mount (`cooler/sample/mount`) that was left out, as `--without` takes it, and why. */
export interface Exclusion {
  readonly name: string;
  readonly reason: string;
  /** Where the name stands, from 1. */
  readonly line: number;
  readonly column: number;
}

export interface RecordedCorrection {
  readonly date: string;
  readonly what: string;
  /** Identity of the dataset after it, where it changed the files. */
  readonly dataset?: string;
}

/**
 * Reads `decisions.yaml`.
 *
 * @throws BenchError at the line and column of the first fault
 * @example
 * readDecisions('charts:\n  - {chart: spring, published: 2025-03-14, excluded: [{name: r014, reason: probe fell off}]}')[0].chart
 */
export function readDecisions(text: string, file = DECISIONS_FILE): RecordedChart[] {
  const yaml = new YamlFile(file, text);
  if (yaml.root === null) return [];
  const date = (entry: YamlEntry | undefined, what: string): string => {
    const value = yaml.words(entry, what);
    if (value.length !== 10 || isoDate(value, undefined) !== value)
      throw yaml.fault(entry?.value, `${what} is "${value}"; a date such as 2025-03-14 is accepted`);
    return value;
  };
  const hash = (entry: YamlEntry | undefined): { dataset?: string } => {
    if (entry === undefined) return {};
    const value = yaml.words(entry, 'dataset').toLowerCase();
    if (!/^[0-9a-f]{64}$/.test(value)) {
      throw yaml.fault(entry.value, `dataset is "${value}"; a SHA-256 of 64 hexadecimal digits is accepted`);
    }
    return { dataset: value };
  };
  const root = yaml.entries(yaml.root, 'the file', ['charts'], []);
  const names = new Set<string>();
  return yaml.list(root.get('charts'), 'charts').map((node): RecordedChart => {
    const of = yaml.entries(node, 'a chart', ['chart', 'published'], ['dataset', 'excluded', 'corrections']);
    const chart = yaml.words(of.get('chart'), 'chart');
    if (names.has(chart)) {
      throw yaml.fault(
        node,
        `the chart "${chart}" is there already; give each chart once, and what changed under corrections`,
      );
    }
    names.add(chart);
    return {
      chart,
      published: date(of.get('published'), 'published'),
      ...hash(of.get('dataset')),
      excluded: yaml.list(of.get('excluded'), 'excluded').map((item) => {
        const exclusion = yaml.entries(item, 'an exclusion', ['name', 'reason'], []);
        return {
          name: yaml.words(exclusion.get('name'), 'name'),
          reason: yaml.words(exclusion.get('reason'), 'reason'),
          ...yaml.place(exclusion.get('name')?.value),
        };
      }),
      corrections: yaml.list(of.get('corrections'), 'corrections').map((item) => {
        const correction = yaml.entries(item, 'a correction', ['date', 'what'], ['dataset']);
        return {
          date: date(correction.get('date'), 'date'),
          what: yaml.words(correction.get('what'), 'what'),
          ...hash(correction.get('dataset')),
        };
      }),
      line: yaml.place(node).line,
    };
  });
}
