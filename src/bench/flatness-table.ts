import type { FlatnessMap } from './bench.ts';
import { BenchError } from './bench-error.ts';
import { bindColumns, type ColumnPlan, type ReadOptions } from './columns.ts';
import { didYouMean } from './nearest-name.ts';
import { fault, readTable } from './table.ts';
import { counted, shown } from './wording.ts';

export const flatnessPlan: ColumnPlan = {
  texts: [],
  numbers: [
    { quantity: 'x', dimension: 'length', required: true, low: -1e4, high: 1e4 },
    { quantity: 'y', dimension: 'length', required: true, low: -1e4, high: 1e4 },
    { quantity: 'depth', dimension: 'depth', required: true, low: -1e5, high: 1e5 },
  ],
};

/**
 * Reads `flatness/<cooler>-<sample>.csv`, a depth-gauge map of one surface.
 *
 * Cooler names may hold hyphens: the longest known cooler that the file name begins with is taken.
 */
export function readFlatness(
  file: string,
  bytes: Uint8Array,
  coolers: ReadonlySet<string>,
  options: ReadOptions,
): FlatnessMap {
  const stem = file.slice('flatness/'.length, -'.csv'.length).normalize('NFC');
  let cooler: string | undefined;
  for (const known of coolers) {
    const longer = cooler === undefined || known.length > cooler.length;
    if (longer && stem.startsWith(`${known}-`) && stem.length > known.length + 1) cooler = known;
  }
  if (cooler === undefined) {
    const guess = didYouMean(stem.slice(0, Math.max(stem.lastIndexOf('-'), 0)) || stem, coolers);
    throw new BenchError(
      file,
      1,
      1,
      `the file name does not begin with a cooler of the bench; name it <cooler>-<sample>.csv with a cooler of runs.csv, logs.csv or coolers.csv${guess}`,
    );
  }
  const table = readTable(file, bytes);
  const bound = bindColumns(table, flatnessPlan, options);
  const places = new Set<string>();
  const points = table.rows.map((row) => {
    const point = {
      x_mm: bound.requiredNumber(row, 'x_mm'),
      y_mm: bound.requiredNumber(row, 'y_mm'),
      depth_um: bound.requiredNumber(row, 'depth_um'),
    };
    const key = `${point.x_mm} ${point.y_mm}`;
    if (places.has(key)) {
      throw fault(
        table,
        row,
        0,
        `the point ${shown(`${point.x_mm}, ${point.y_mm}`)} is there already; keep one depth for each place`,
      );
    }
    places.add(key);
    return point;
  });
  if (points.length < 3) {
    throw new BenchError(
      file,
      1,
      1,
      `a surface needs at least 3 points; the file has ${counted(points.length, 'point')}`,
    );
  }
  return { cooler, sample: stem.slice(cooler.length + 1), points };
}
