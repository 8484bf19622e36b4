import type { Run } from '../bench/bench.ts';
import { bilinearForm, invertSpd, quadraticForm, transposeProduct } from '../numerics/matrix.ts';
import { MOUNT, SAMPLE } from '../posterior/scatter.ts';
import type { MountBeside } from '../screen-results.ts';
import type { JudgedCooler } from './judge.ts';

/** A fitting of a cooler, and whether it has a say in what the cooler's own resistance is. */
export interface BesideOthers {
  readonly runs: readonly Run[];
  readonly isUsual: boolean;
}

/**
 * The mounts of one cooler side by side: the resistance of each less the cooler's own, free of load and speed.
 *
 * Each mount has a resistance of its own in series with the cooler's curve, estimated by generalised least squares from all of its runs
 * (Aitken 1936, Proc. R. Soc. Edinburgh 55, 42): m = (LᵀK⁻¹L)⁻¹LᵀK⁻¹(y − ŷ), L the loading of each run and K the covariance of the readings
 * under the curve's prior. Since K holds the scatters σ of mounts and samples, (LᵀK⁻¹L)⁻¹ is what the readings leave unknown plus σ²; the
 * uncertainty given is the first part. The cooler's own is the mean of its usual mounts, or of both where there are two: nothing on the
 * cooler then says which of them is the odd one.
 *
 * @param sigma  the bench's scatters, in the order of COMPONENTS
 * @returns one a mount
 */
export function mountsSideBySide(
  cooler: JudgedCooler,
  mounts: readonly BesideOthers[],
  sigma: readonly number[],
): MountBeside[] {
  const count = mounts.length;
  if (count < 2)
    return mounts.map(() => ({ off_K_per_W: null, u_K_per_W: null, scatter_K_per_W: sigma[MOUNT] }));
  const usual = mounts.flatMap(({ isUsual }, k) => (isUsual && count > 2 ? [k] : []));
  const own = usual.length > 0 ? usual : mounts.map((_, k) => k);
  const rows = mounts.flatMap(({ runs }, mount) =>
    cooler.data.runs.flatMap((run, row) => (runs.includes(run) ? [{ row, mount }] : [])),
  );
  const n = rows.length;
  const sample = mounts.map(({ runs: [run] }) => run.sample);
  const contrasts = mounts.map((_, k) => {
    const contrast = new Float64Array(count);
    for (const one of own) contrast[one] = -1 / own.length;
    contrast[k] += 1;
    return contrast;
  });
  const mean = new Float64Array(count);
  const square = new Float64Array(count);
  const unknown = new Float64Array(count);
  for (const { joint } of cooler.curves) {
    const of = rows.map(({ row }) => row);
    const { covariance, pulled } = joint.readings.among(of);
    const loading = new Float64Array(n * count);
    rows.forEach(({ row, mount }, i) => {
      loading[i * count + mount] = joint.at.loading_W[row];
    });
    const total = transposeProduct(loading, covariance.solve(loading, count), n, count, count);
    if (!invertSpd(total, count)) throw new RangeError('two mounts are one');
    const right = transposeProduct(loading, pulled, n, count);
    const left = total.map((value, at) => {
      const [a, b] = [Math.floor(at / count), at % count];
      return value - (a === b ? sigma[MOUNT] ** 2 : 0) - (sample[a] === sample[b] ? sigma[SAMPLE] ** 2 : 0);
    });
    contrasts.forEach((contrast, k) => {
      const value = bilinearForm(contrast, total, right);
      mean[k] += joint.weight * value;
      square[k] += joint.weight * value ** 2;
      unknown[k] += joint.weight * Math.max(0, quadraticForm(contrast, left));
    });
  }
  const scatter_K_per_W = Math.hypot(sigma[MOUNT], new Set(sample).size > 1 ? sigma[SAMPLE] : 0);
  return mounts.map((_, k) => ({
    off_K_per_W: mean[k],
    u_K_per_W: Math.sqrt(unknown[k] + Math.max(0, square[k] - mean[k] ** 2)),
    scatter_K_per_W,
  }));
}
