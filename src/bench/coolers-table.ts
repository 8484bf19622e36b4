import type { Cooler } from './bench.ts';
import { type BoundTable, bindColumns, type ColumnPlan, type ReadOptions } from './columns.ts';
import { type Row, readTable } from './table.ts';
import { listed, shown } from './wording.ts';

export const coolersPlan: ColumnPlan = {
  texts: [{ name: 'cooler', required: true }, { name: 'kind' }],
  numbers: [
    { quantity: 'heat_pipes', dimension: 'plain', low: 0, high: 100, whole: true },
    { quantity: 'heat_pipe_diameter', dimension: 'length', low: 0, above: true, high: 1e4 },
    { quantity: 'base_thickness', dimension: 'length', low: 0, above: true, high: 1e4 },
    { quantity: 'fan_max', dimension: 'speed', low: 0, high: 1e6 },
    { quantity: 'fan_min', dimension: 'speed', low: 0, high: 1e6 },
    { quantity: 'fans', dimension: 'plain', low: 0, high: 100, whole: true },
    { quantity: 'price', dimension: 'plain', low: 0 },
  ],
};

/** A row of coolers.csv; `fan_max_rpm` is 0 until the speeds seen are known, where the row does not state it. */
export interface CoolerRow extends Cooler {
  readonly line: number;
}

/** Reads `coolers.csv`. */
export function readCoolers(file: string, bytes: Uint8Array, options: ReadOptions): CoolerRow[] {
  const bound = bindColumns(readTable(file, bytes), coolersPlan, options);

  const seen = new Map<string, Row>();
  const coolers = bound.table.rows.map((row) => {
    const name = bound.requiredName(row, 'cooler');
    const earlier = seen.get(name);
    if (earlier) {
      throw bound.fault(
        row,
        'cooler',
        `cooler ${shown(name)} is already in line ${earlier.line}; every cooler has one row`,
      );
    }
    seen.set(name, row);
    const fan_max_rpm = bound.number(row, 'fan_max_rpm');
    const fan_min_rpm = bound.number(row, 'fan_min_rpm');
    if (fan_max_rpm !== undefined && fan_min_rpm !== undefined && fan_min_rpm > fan_max_rpm) {
      throw bound.fault(
        row,
        'fan_min_rpm',
        `fan_min_rpm is ${fan_min_rpm}, above fan_max_rpm of ${fan_max_rpm}; check whether the two are swapped`,
      );
    }
    const cooler: CoolerRow = {
      cooler: name,
      kind: readKind(bound, row),
      heat_pipes: bound.number(row, 'heat_pipes'),
      heat_pipe_diameter_mm: bound.number(row, 'heat_pipe_diameter_mm'),
      base_thickness_mm: bound.number(row, 'base_thickness_mm'),
      fan_max_rpm: fan_max_rpm ?? 0,
      fan_max_stated: fan_max_rpm !== undefined,
      fan_min_rpm,
      fans: bound.number(row, 'fans'),
      price: bound.number(row, 'price'),
      extra: bound.extra(row),
      line: row.line,
    };
    return cooler;
  });
  const unstated = bound.table.rows.filter((row) => bound.text(row, 'kind') === undefined);
  if (unstated.length > 0) {
    const names = unstated.map((row) => shown(bound.requiredName(row, 'cooler')));
    const [line, which] = [unstated[0].line, listed(names, 'and')];
    options.warnings.push(
      `${file}:${line}:1: no kind for ${which}: taken as air; write air or liquid under kind`,
    );
  }
  return coolers;
}

function readKind(bound: BoundTable, row: Row): 'air' | 'liquid' {
  const kind = bound.text(row, 'kind') ?? 'air';
  if (kind === 'air' || kind === 'liquid') return kind;
  throw bound.fault(row, 'kind', `${shown(kind)} is not a kind of cooler; write air or liquid`);
}
