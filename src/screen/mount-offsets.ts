import type { Run } from '../bench/bench.ts';
import { MOUNT, SAMPLE } from '../fit/components.ts';
import { dot, quadraticForm } from '../numerics/matrix.ts';

import type { JudgedCooler } from './judge.ts';
import { mountEffects } from './mount-effects.ts';

/** A mount beside the other mounts of its cooler, free of load and speed. */
export interface MountOffset {
  /**
   * Its resistance less its cooler's own, K/W: the mean of the cooler's mounts, strange ones left out where it has more than two; null where
   * the cooler has no other mount on the source.
   */
  off_K_per_W: number | null;
  /** Standard uncertainty of that from readings and curve, K/W; the scatter of mounts is not in it. */
  u_K_per_W: number | null;
  /** Standard deviation of the cooler's mounts as the bench has it, K/W, that of samples included where it has several. */
  scatter_K_per_W: number;
}

/** A fitting of a cooler, and whether it has a say in what the cooler's own resistance is. */
export interface BesideOthers {
  readonly runs: readonly Run[];
  readonly isUsual: boolean;
}

/**
 * The mounts of one cooler side by side: the resistance of each less the cooler's own, free of load and speed.
 *
 * See {@link mountEffects}. The cooler's own is the mean of its usual mounts, or of both where there are two: nothing on the cooler then says
 * which of them is the odd one. The uncertainty is that of readings and curve.
 *
 * @param sigma  the bench's scatters, in the order of COMPONENTS
 * @returns one a mount
 */
export function mountOffsets(
  cooler: JudgedCooler,
  mounts: readonly BesideOthers[],
  sigma: readonly number[],
): MountOffset[] {
  const count = mounts.length;
  if (count < 2)
    return mounts.map(() => ({ off_K_per_W: null, u_K_per_W: null, scatter_K_per_W: sigma[MOUNT] }));
  const usual = mounts.flatMap(({ isUsual }, k) => (isUsual && count > 2 ? [k] : []));
  const own = usual.length > 0 ? usual : mounts.map((_, k) => k);
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
    const effects = mountEffects(
      cooler,
      joint,
      mounts.map(({ runs }) => runs),
      sigma,
    );
    contrasts.forEach((contrast, k) => {
      const value = dot(contrast, effects.estimate);
      mean[k] += joint.weight * value;
      square[k] += joint.weight * value ** 2;
      unknown[k] += joint.weight * Math.max(0, quadraticForm(contrast, effects.unknown));
    });
  }
  const samples = new Set(mounts.map(({ runs: [run] }) => run.sample)).size;
  const scatter_K_per_W = Math.hypot(sigma[MOUNT], samples > 1 ? sigma[SAMPLE] : 0);
  return mounts.map((_, k) => ({
    off_K_per_W: mean[k],
    u_K_per_W: Math.sqrt(unknown[k] + Math.max(0, square[k] - mean[k] ** 2)),
    scatter_K_per_W,
  }));
}
