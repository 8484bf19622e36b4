/**
 * Quantiles and tail areas of the standard distributions, under the names used in this project.
 *
 * The numerics are those of stdlib, an established general-purpose library; `test/published/` holds them against printed
 * tables.
 */
import chiSquareQuantile from '@stdlib/stats-base-dists-chisquare-quantile';
import normalCdf_ from '@stdlib/stats-base-dists-normal-cdf';
import normalQuantile_ from '@stdlib/stats-base-dists-normal-quantile';
import tCdf from '@stdlib/stats-base-dists-t-cdf';
import tQuantile from '@stdlib/stats-base-dists-t-quantile';

/** Area of the standard normal distribution below z. */
export function normalCdf(z: number): number {
  return normalCdf_(z, 0, 1);
}

/** The z below which a share p (0 < p < 1) of the standard normal distribution lies. */
export function normalQuantile(p: number): number {
  return normalQuantile_(p, 0, 1);
}

/**
 * Student's t quantile; more than a million degrees of freedom count as infinite.
 *
 * @param p   share below, 0 < p < 1
 * @param degreesOfFreedom  > 0, may be fractional (Welch–Satterthwaite) or infinite
 */
export function studentTQuantile(p: number, degreesOfFreedom: number): number {
  return degreesOfFreedom > 1e6 ? normalQuantile(p) : tQuantile(p, degreesOfFreedom);
}

/** Area of Student's t distribution below t. */
export function studentTCdf(t: number, degreesOfFreedom: number): number {
  return degreesOfFreedom > 1e6 ? normalCdf(t) : tCdf(t, degreesOfFreedom);
}

/** χ² quantile at share p for k degrees of freedom. */
export function chiSquaredQuantile(p: number, k: number): number {
  return chiSquareQuantile(p, k);
}
