/**
 * Quantiles and tail areas of the standard distributions, under the names used in this project.
 *
 * The numerics are those of stdlib, an established general-purpose library; `test/published/` holds them against printed
 * tables.
 */
import chiSquareQuantile from '@stdlib/stats-base-dists-chisquare-quantile';
import normalQuantile_ from '@stdlib/stats-base-dists-normal-quantile';
import tCdf from '@stdlib/stats-base-dists-t-cdf';
import tQuantile from '@stdlib/stats-base-dists-t-quantile';

/**
 * Area of the standard normal distribution below z, to about 1e-15.
 *
 * Written out because mixtures ask for it millions of times: the ratio of polynomials of Hart et al. (1968), Computer
 * Approximations, algorithm 5666, to |z| = 7.07, and the continued fraction of Mills' ratio beyond.
 */
export function normalCdf(z: number): number {
  const x = Math.abs(z);
  if (x > 37) return z > 0 ? 1 : 0;
  const density = Math.exp((-x * x) / 2);
  let tail: number;
  if (x < 7.07106781186547) {
    const above =
      ((((((3.52624965998911e-2 * x + 0.700383064443688) * x + 6.37396220353165) * x + 33.912866078383) * x +
        112.079291497871) *
        x +
        221.213596169931) *
        x +
        220.206867912376) *
      density;
    const below =
      ((((((8.83883476483184e-2 * x + 1.75566716318264) * x + 16.064177579207) * x + 86.7807322029461) * x +
        296.564248779674) *
        x +
        637.333633378831) *
        x +
        793.826512519948) *
        x +
      440.413735824752;
    tail = above / below;
  } else {
    tail = density / (x + 1 / (x + 2 / (x + 3 / (x + 4 / (x + 0.65))))) / 2.506628274631;
  }
  return z > 0 ? 1 - tail : tail;
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
