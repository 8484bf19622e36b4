import { isMap, isNode, isScalar, isSeq, LineCounter, type Node, parseDocument, type YAMLMap } from 'yaml';
import { BenchError } from '../bench/bench-error.ts';
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

const ACCEPTED =
  'accepted is a list charts: of mappings with chart, published and optionally dataset, excluded (name, reason) and corrections (date, what, dataset)';

/**
 * Reads `decisions.yaml`.
 *
 * @throws BenchError at the line and column of the first fault
 * @example
 * readDecisions('charts:\n  - {chart: spring, published: 2025-03-14, excluded: [{name: r014, reason: probe fell off}]}')[0].chart
 */
export function readDecisions(text: string, file = DECISIONS_FILE): RecordedChart[] {
  const lines = new LineCounter();
  const fault = (node: Node | null | undefined, what: string, offset?: number): BenchError => {
    const { line, col } = lines.linePos(offset ?? node?.range?.[0] ?? 0);
    return new BenchError(file, Math.max(line, 1), Math.max(col, 1), what);
  };
  const document = parseDocument(text, { lineCounter: lines, prettyErrors: false, logLevel: 'silent' });
  const problem = document.errors[0];
  if (problem) throw fault(null, `this is not plain YAML: ${problem.message}; ${ACCEPTED}`, problem.pos[0]);
  if (document.contents === null) return [];

  const entries = (node: unknown, required: string[], optional: string[]): Map<string, Node> => {
    if (!isMap(node)) throw fault(isNode(node) ? node : null, `this is no mapping; ${ACCEPTED}`);
    const found = new Map<string, Node>();
    for (const { key, value } of (node as YAMLMap).items) {
      const name = isScalar(key) ? String(key.value) : '';
      if (![...required, ...optional].includes(name)) {
        throw fault(
          isNode(key) ? key : node,
          `"${name}" is no key here; accepted are ${[...required, ...optional].join(', ')}`,
        );
      }
      if (isNode(value)) found.set(name, value);
    }
    for (const name of required) if (!found.has(name)) throw fault(node, `the key ${name} is missing`);
    return found;
  };
  const list = (node: Node | undefined): Node[] => {
    if (node === undefined || (isScalar(node) && node.value === null)) return [];
    if (!isSeq(node)) throw fault(node, 'this needs a list, each item after "- "');
    return node.items.filter(isNode);
  };
  const words = (node: Node | undefined, what: string): string => {
    const value = isScalar(node) ? (node.value === null ? '' : (node.source ?? String(node.value))) : '';
    if (value.trim() === '') throw fault(node, `${what} needs a text`);
    return value.trim().normalize('NFC');
  };
  const date = (node: Node | undefined, what: string): string => {
    const value = words(node, what);
    const good =
      /^\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$/.test(value) && !Number.isNaN(Date.parse(value));
    if (!good) throw fault(node, `${what} is "${value}"; a date such as 2025-03-14 is accepted`);
    return value;
  };
  const hash = (node: Node | undefined): { dataset?: string } => {
    if (node === undefined) return {};
    const value = words(node, 'dataset').toLowerCase();
    if (!/^[0-9a-f]{64}$/.test(value)) {
      throw fault(node, `dataset is "${value}"; a SHA-256 of 64 hexadecimal digits is accepted`);
    }
    return { dataset: value };
  };

  const place = (node: Node | undefined): { line: number; column: number } => {
    const { line, col } = lines.linePos(node?.range?.[0] ?? 0);
    return { line, column: col };
  };
  const root = entries(document.contents, ['charts'], []);
  const charts = list(root.get('charts')).map((node): RecordedChart => {
    const chart = entries(node, ['chart', 'published'], ['dataset', 'excluded', 'corrections']);
    return {
      chart: words(chart.get('chart'), 'chart'),
      published: date(chart.get('published'), 'published'),
      ...hash(chart.get('dataset')),
      excluded: list(chart.get('excluded')).map((item) => {
        const exclusion = entries(item, ['name', 'reason'], []);
        return {
          name: words(exclusion.get('name'), 'name'),
          reason: words(exclusion.get('reason'), 'reason'),
          ...place(exclusion.get('name')),
        };
      }),
      corrections: list(chart.get('corrections')).map((item) => {
        const correction = entries(item, ['date', 'what'], ['dataset']);
        return {
          date: date(correction.get('date'), 'date'),
          what: words(correction.get('what'), 'what'),
          ...hash(correction.get('dataset')),
        };
      }),
      line: lines.linePos(node.range?.[0] ?? 0).line,
    };
  });
  charts.forEach(({ chart, line }, k) => {
    if (charts.findIndex((other) => other.chart === chart) < k) {
      throw new BenchError(
        file,
        line,
        1,
        `the chart "${chart}" is there already; give each chart once, and what changed under corrections`,
      );
    }
  });
  return charts;
}
