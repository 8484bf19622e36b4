import type { Bench, NoiseReading, Run } from '../bench/bench.ts';

/** A column of a table: numbers, or a list of distinct values with one index a row. `null`: the cell is blank. */
export type PackedColumn = (number | null)[] | { values: string[]; index: (number | null)[] };

/** Rows by columns, so that no name is written more than once. */
export interface PackedTable {
  rows: number;
  columns: Record<string, PackedColumn>;
}

/**
 * What of a bench an answer needs, as plain data: everything but logs, maps, model files and remarks.
 *
 * Lists of rows are packed by columns.
 */
export interface PackedBench
  extends Omit<Bench, 'runs' | 'noise' | 'flatness' | 'logs' | 'logFiles' | 'modelFiles'> {
  runs: PackedTable;
  noise: PackedTable;
  /** Model files of the bench's own, as text: another fit needs them. */
  models?: [string, string][];
}

/** Columns of a run that neither an answer nor another fit reads. */
const LEFT_OUT = new Set(['extra', 'note', 'operator', 'paste', 'torque_Nm']);

/**
 * @example unpackBench(packBench(bench)).runs[0].power_W === bench.runs[0].power_W
 */
export function packBench(bench: Bench): PackedBench {
  const { runs, noise, flatness: _f, logs: _l, logFiles: _lf, modelFiles, ...rest } = bench;
  const models = [...modelFiles];
  return {
    ...rest,
    runs: packTable(runs),
    noise: packTable(noise),
    ...(models.length > 0 && { models }),
  };
}

/** The bench again; its runs carry no remarks. */
export function unpackBench({ models = [], ...packed }: PackedBench): Bench {
  const runs = unpackTable(packed.runs).map((row) => ({ ...row, extra: {} })) as unknown as Run[];
  return {
    ...packed,
    runs,
    noise: unpackTable(packed.noise) as unknown as NoiseReading[],
    flatness: [],
    logs: [],
    logFiles: new Map(),
    modelFiles: new Map(models),
  };
}

function packTable(rows: readonly object[]): PackedTable {
  const names = new Set(rows.flatMap((row) => Object.keys(row)).filter((name) => !LEFT_OUT.has(name)));
  const columns: PackedTable['columns'] = {};
  for (const name of names) {
    const cells = rows.map((row) => (row as Record<string, unknown>)[name]);
    if (cells.every((cell) => cell === undefined || typeof cell === 'number')) {
      columns[name] = cells.map((cell) => (cell === undefined ? null : (cell as number)));
    } else {
      const values = [...new Set(cells.filter((cell) => typeof cell === 'string'))] as string[];
      const numbers = new Map(values.map((value, i) => [value, i]));
      columns[name] = { values, index: cells.map((cell) => numbers.get(cell as string) ?? null) };
    }
  }
  return { rows: rows.length, columns };
}

function unpackTable({ rows, columns }: PackedTable): Record<string, unknown>[] {
  const list = Object.entries(columns);
  return Array.from({ length: rows }, (_, i) => {
    const row: Record<string, unknown> = {};
    for (const [name, column] of list) {
      const at = Array.isArray(column) ? column[i] : column.index[i];
      if (at !== null) row[name] = Array.isArray(column) ? at : column.values[at];
    }
    return row;
  });
}
