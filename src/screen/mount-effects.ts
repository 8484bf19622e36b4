import type { Run } from '../bench/bench.ts';
import { MOUNT, SAMPLE } from '../fit/components.ts';
import { invertInformation, product, transposeProduct } from '../numerics/matrix.ts';
import type { JudgedCooler } from './judge.ts';
import type { JointRuns } from './left-out.ts';

/** The resistance that each mount of a cooler has in series with the cooler's curve, about that curve, K/W. */
export interface MountEffects {
  readonly estimate: Float64Array;
  /** Covariance of its errors, mounts × mounts: readings and curve, without the scatters of mounts and samples. */
  readonly unknown: Float64Array;
  readonly sample: readonly string[];
}

/**
 * The mounts of a cooler as resistances in series, free of load and speed, under one formula.
 *
 * Generalised least squares (Aitken 1936, Proc. R. Soc. Edinburgh 55, 42): m = (LᵀK⁻¹L)⁻¹LᵀK⁻¹(y − ŷ), L the loading of each run on its mount and K
 * the covariance of the readings under the curve's prior. As K holds the scatters of mounts and samples, which act along L, (LᵀK⁻¹L)⁻¹ is what
 * readings and curve leave unknown plus these scatters, and m is the same whatever they are.
 *
 * @param mounts  runs of each, at least one
 * @param sigma  the bench's scatters that K holds, in the order of COMPONENTS
 * @throws RangeError where two mounts are one
 */
export function mountEffects(
  { data }: JudgedCooler,
  joint: JointRuns,
  mounts: readonly (readonly Run[])[],
  sigma: readonly number[],
): MountEffects {
  const count = mounts.length;
  const rows = data.runs.flatMap((run, row) => {
    const mount = mounts.findIndex((runs) => runs.includes(run));
    return mount < 0 ? [] : [{ row, mount }];
  });
  const n = rows.length;
  const { covariance, pulled } = joint.readings.among(rows.map(({ row }) => row));
  const loading = new Float64Array(n * count);
  rows.forEach(({ row, mount }, i) => {
    loading[i * count + mount] = joint.at.loading_W[row];
  });
  const total = transposeProduct(loading, covariance.solve(loading, count), n, count, count);
  // A mount at next to no load tells nothing of its resistance: it is unknown by up to a thousand K/W.
  if (!invertInformation(total, count, 1e-6)) throw new RangeError('mountEffects: two mounts are one');
  const right = transposeProduct(loading, pulled, n, count);
  const sample = mounts.map(([run]) => run.sample);
  const unknown = total.map((value, at) => {
    const [a, b] = [Math.floor(at / count), at % count];
    return value - (a === b ? sigma[MOUNT] ** 2 : 0) - (sample[a] === sample[b] ? sigma[SAMPLE] ** 2 : 0);
  });
  return { estimate: product(total, right, count, count), unknown, sample };
}
