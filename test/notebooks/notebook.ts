/** A notebook as nbformat 4.5 keeps it, as far as this project uses it. */

export type Output =
  | { output_type: 'stream'; name: string; text: string }
  | {
      output_type: 'execute_result';
      data: Record<string, unknown>;
      metadata: object;
      execution_count: number | null;
    }
  | { output_type: 'display_data'; data: Record<string, unknown>; metadata: object }
  | { output_type: 'error'; ename: string; evalue: string; traceback: string[] };

export interface Cell {
  cell_type: 'markdown' | 'code';
  id: string;
  metadata: object;
  source: string[];
  outputs?: Output[];
  execution_count?: number | null;
}

export interface Notebook {
  cells: Cell[];
  metadata: { kernelspec: { name: string; language: string; display_name: string }; language_info: object };
  nbformat: 4;
  nbformat_minor: 5;
}

/** Lines as a notebook file holds them: each with its end, so that a change shows as few changed lines. */
export function splitLines(text: string): string[] {
  return text === '' ? [] : text.split(/(?<=\n)/);
}

/** Text that a file may hold as a list of lines. */
export function joinLines(text: unknown): unknown {
  return Array.isArray(text) && text.every((line) => typeof line === 'string') ? text.join('') : text;
}

/** Output with its texts as single strings, whether it comes from a file or from a kernel. */
export function plainOutput(output: Output): Output {
  switch (output.output_type) {
    case 'stream':
      return { ...output, text: String(joinLines(output.text)) };
    case 'execute_result':
      return { ...output, data: plainData(output.data), execution_count: null };
    case 'display_data':
      return { ...output, data: plainData(output.data) };
    case 'error':
      return output;
  }
}

function plainData(data: Record<string, unknown>): Record<string, unknown> {
  return Object.fromEntries(Object.entries(data).map(([type, value]) => [type, joinLines(value)]));
}

/** The file's text with fresh outputs, texts split into lines. */
export function withOutputs(notebook: Notebook, outputs: readonly Output[][]): string {
  let count = 0;
  const cells = notebook.cells.map((cell) => {
    if (cell.cell_type !== 'code') return cell;
    const fresh = outputs[count];
    count += 1;
    return { ...cell, execution_count: count, outputs: fresh.map((output) => fileOutput(output, count)) };
  });
  return `${JSON.stringify({ ...notebook, cells }, undefined, 1)}\n`;
}

function fileOutput(output: Output, count: number): object {
  const lines = (value: unknown) => (typeof value === 'string' ? splitLines(value) : value);
  if (output.output_type === 'stream') return { ...output, text: lines(output.text) };
  if (output.output_type === 'error') return output;
  const data = Object.fromEntries(Object.entries(output.data).map(([type, value]) => [type, lines(value)]));
  return output.output_type === 'execute_result'
    ? { ...output, data, execution_count: count }
    : { ...output, data };
}

const NUMBER = /[-+−]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?/g;

/**
 * Where two texts part: numbers may differ by 1e-6 of their size, everything else not at all.
 *
 * @returns a sentence, or undefined where they agree
 * @example drift('rise 12.3000001 K', 'rise 12.3 K') // undefined
 */
export function drift(now: string, committed: string): string | undefined {
  const value = (text: string) => Number(text.replace('−', '-'));
  const [a, b] = [now.split(NUMBER), committed.split(NUMBER)];
  const [x, y] = [now.match(NUMBER) ?? [], committed.match(NUMBER) ?? []];
  for (let i = 0; i < Math.max(a.length, b.length); i++) {
    if (a[i] !== b[i]) return `text "${a[i]}" where the notebook holds "${b[i]}"`;
    if (i >= x.length && i >= y.length) break;
    if (i >= x.length || i >= y.length) return `number ${x[i]} where the notebook holds ${y[i]}`;
    const [p, q] = [value(x[i]), value(y[i])];
    if (!(Math.abs(p - q) <= 1e-6 * Math.max(Math.abs(p), Math.abs(q)))) {
      return `number ${x[i]} where the notebook holds ${y[i]}`;
    }
  }
  return undefined;
}
