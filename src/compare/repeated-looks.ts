import { normalQuantile } from '../numerics/distributions.ts';

/**
 * Multiple of the standard error at which a difference may be called one however often one looks on the way to all that can be known of it.
 *
 * A test that is right in 95 % of single looks is wrong far more often for who looks after every run and stops once it says so. Estimate over
 * variance runs like a Brownian motion as its information grows from nothing to that of all the runs that anybody would make, so that the
 * chance of its ever passing a constant line is twice that of its ending beyond it (reflection principle). With t the share of
 * the information that there is, that line is this many standard errors, z the normal quantile:
 *
 *   |d| ≥ s·z(1 − α/4)/√t
 *
 * Nothing has to be known of the looks before, how many and when. At 5 % it asks for 2.24 standard errors at the end, where a single look asks for 1.96,
 * and for 3.2 half-way.
 *
 * Sources: O'Brien and Fleming (1979) Biometrics 35, 549; Lan and DeMets (1983) Biometrika 70, 659, whose spending function α₁* belongs to this
 * line; for estimates of a linear model Jennison and Turnbull (1997) JASA 92, 1330.
 *
 * @param share  t, the variance that would be left in the end over that which is left now; 0 < t ≤ 1
 * @param alpha  chance of ever calling a difference of nothing one, both directions together; 0 < α < 1
 * @example allLooksMultiple(1, 0.05) // 2.24
 */
export function allLooksMultiple(share: number, alpha: number): number {
  return normalQuantile(1 - alpha / 4) / Math.sqrt(Math.min(share, 1));
}
