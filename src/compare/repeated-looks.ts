import { normalQuantile } from '../numerics/distributions.ts';

/**
 * Multiple of the standard error at which a difference may be called one however often one looks on the way to all that can be known of it.
 *
 * A test that is right in 95 % of single looks is wrong far more often for who looks after every run and stops once it says so. Estimate over
 * variance runs like a Brownian motion as its information grows from nothing to that of all the runs that anybody would make. Two lines share the
 * chance that it ever passes one with no difference behind it, and a difference may be called where it lies beyond either. With t the share of the
 * information that there is, z the normal quantile and ρ = 0.05,
 *
 *   |d| ≥ s·z(1 − 0.8·α/4)/√t   or   |d| ≥ s·√((1 + ρ/t)·(ln(1 + t/ρ) + 2·ln(5/α)))
 *
 * The first is constant for the motion, so that the chance of ever passing it is twice that of ending beyond it (reflection principle): it
 * costs little in the end and asks for much at first. The second is that of a normal mixture of differences, which holds at any time: it asks for
 * little at first, where a large difference shows. At 5 % they ask for 2.33 standard errors at the end, where a single look asks for 1.96,
 * for 3.3 half-way, and for 7.5 at a hundredth. Nothing has to be known of the looks before, how many and when.
 *
 * Sources: O'Brien and Fleming (1979) Biometrics 35, 549; Lan and DeMets (1983) Biometrika 70, 659, whose spending function α₁* belongs to the
 * first line; Robbins (1970) Ann. Math. Stat. 41, 1397 for the second; for estimates of a linear model Jennison and Turnbull (1997) JASA 92, 1330. That the
 * first has four fifths of the chance, and ρ, are chosen: a twentieth more in the end for what is plain at first.
 *
 * @param share  t, the variance that would be left in the end over that which is left now; 0 < t ≤ 1
 * @param alpha  chance of ever calling a difference of nothing one, both directions together; 0 < α < 1
 * @example allLooksMultiple(1, 0.05) // 2.326
 */
export function allLooksMultiple(share: number, alpha: number): number {
  const t = Math.min(share, 1);
  const constant = normalQuantile(1 - (CONSTANT_LINE * alpha) / 4) / Math.sqrt(t);
  const mixture = Math.sqrt(
    (1 + TIGHT_AT / t) * (Math.log1p(t / TIGHT_AT) + 2 * Math.log(1 / ((1 - CONSTANT_LINE) * alpha))),
  );
  return Math.min(constant, mixture);
}

/** Share of the chance that the first line has (chosen). */
const CONSTANT_LINE = 0.8;
/** ρ: share of the information about which the second line is tightest. */
const TIGHT_AT = 0.05;
