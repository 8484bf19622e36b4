import type { Bench } from '../bench/bench.ts';
import { gapMap } from '../surfaces/gap-map.ts';
import { unevenness } from '../surfaces/unevenness.ts';

/** A measured base as the page draws it: the gap that paste has to fill, cell by cell. */
export interface SurfaceMap {
  cooler: string;
  sample: string;
  width_mm: number;
  depth_mm: number;
  columns: number;
  rows: number;
  /** Gap of cell (column i, row j) at [j·columns + i], µm, as in `gapMap`. */
  gap_um: number[];
  flatness_um: number;
  mean_gap_um: number;
}

/** Cells along the longer side. */
const CELLS = 18;

/** The gap of every base that was measured. */
export function surfaceMaps(bench: Bench): SurfaceMap[] {
  if (bench.flatness.length === 0) return [];
  const { surfaces } = unevenness(bench);
  return bench.flatness.map(({ cooler, sample, points }) => {
    const { width_mm, depth_mm, columns, rows, gap_um } = gapMap(points, { cells: CELLS });
    const found = surfaces.find((one) => one.cooler === cooler && one.sample === sample);
    return {
      cooler,
      sample,
      width_mm,
      depth_mm,
      columns,
      rows,
      gap_um: Array.from(gap_um, (gap) => Number(gap.toFixed(2))),
      flatness_um: found?.flatness_um ?? Number.NaN,
      mean_gap_um: found?.mean_gap_um ?? Number.NaN,
    };
  });
}
