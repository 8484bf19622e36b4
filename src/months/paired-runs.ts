import type { Bench, Run } from '../bench/bench.ts';
import { commonMountShare } from '../bench/mounts.ts';
import { isSameCondition, isZeroLoad, riseOf } from '../bench/run.ts';
import type { PairedValues } from './errors-in-both.ts';

/** Scatters that two procedures' readings of one cooler have apart, standard deviations. */
export interface PairScatter {
  readonly sample_K_per_W: number;
  readonly mount_K_per_W: number;
  readonly reading_K: number;
}

/** The procedure a run was done under; empty where the file names none. */
export function methodOf(run: Run): string {
  return run.method ?? '';
}

/** One condition at which a cooler was run under both procedures. */
interface PairedCell {
  readonly power_W: number;
  readonly from: Run[];
  readonly to: Run[];
}

/** The conditions that a cooler was run at under both procedures, on one source. */
export function pairedCells(runs: readonly Run[], from: string, to: string): PairedCell[] {
  const cells: (PairedCell & { readonly like: Run })[] = [];
  for (const run of runs) {
    const method = methodOf(run);
    if (isZeroLoad(run) || (method !== from && method !== to)) continue;
    let cell = cells.find(({ like }) => isSameCondition(like, run));
    if (!cell) {
      cell = { like: run, power_W: run.power_W, from: [], to: [] };
      cells.push(cell);
    }
    (method === from ? cell.from : cell.to).push(run);
  }
  return cells.filter((cell) => cell.from.length > 0 && cell.to.length > 0);
}

/**
 * Mean rises of one cooler under two procedures, condition by condition, with covariances: fittings and readings differ
 * between the two, and the specimen does where no sample was run under both.
 *
 * @returns `undefined` where the cooler has no condition in common
 */
export function pairedValues(
  bench: Bench,
  cooler: string,
  source: string,
  from: string,
  to: string,
  scatter: PairScatter,
): PairedValues | undefined {
  const own = bench.runs.filter((run) => run.cooler === cooler && run.source === source);
  const samplesOf = (method: string) =>
    new Set(own.filter((run) => methodOf(run) === method).map((run) => run.sample));
  const toSamples = samplesOf(to);
  const shared = [...samplesOf(from)].filter((sample) => toSamples.has(sample));
  const used = shared.length > 0 ? own.filter((run) => shared.includes(run.sample)) : own;
  const cells = pairedCells(used, from, to);
  if (cells.length === 0) return undefined;
  // A specimen that is the same on both sides cancels.
  const sample = shared.length > 0 ? 0 : scatter.sample_K_per_W;
  const side = (pick: (cell: PairedCell) => Run[]) =>
    meansOf(
      cells.map((cell) => ({ power_W: cell.power_W, runs: pick(cell) })),
      { ...scatter, sample_K_per_W: sample },
    );
  const x = side((cell) => cell.from);
  const y = side((cell) => cell.to);
  return { x: x.mean, y: y.mean, xCovariance: x.covariance, yCovariance: y.covariance };
}

/** Mean rises of cells at their loads and the covariance of these means. */
function meansOf(
  cells: readonly { power_W: number; runs: readonly Run[] }[],
  scatter: PairScatter,
): { mean: Float64Array; covariance: Float64Array } {
  const n = cells.length;
  const mean = Float64Array.from(cells, ({ power_W, runs }) => {
    const rises = runs.map((run) => (riseOf(run) * power_W) / run.power_W);
    return rises.reduce((a, b) => a + b, 0) / rises.length;
  });
  const covariance = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      let sum = 0;
      for (const a of cells[i].runs) {
        for (const b of cells[j].runs) sum += runCovariance(a, b, scatter);
      }
      covariance[i * n + j] = sum / (cells[i].runs.length * cells[j].runs.length);
    }
  }
  return { mean, covariance };
}

/** Covariance of two runs of one cooler by reading, sample and mount, K². */
function runCovariance(a: Run, b: Run, scatter: PairScatter): number {
  const variance = a === b ? scatter.reading_K ** 2 + (a.u_K ?? 0) ** 2 : 0;
  const heat = a.power_W * b.power_W;
  if (a.sample !== b.sample) return variance;
  return (
    variance + (scatter.sample_K_per_W ** 2 + commonMountShare(a, b) * scatter.mount_K_per_W ** 2) * heat
  );
}
