/**
 * The incomplete beta and gamma functions that the areas of Student's t and of χ² are made of.
 *
 * Each is a factor, the integrand at the upper end, times a series or a continued fraction that converges on its own side
 * of the distribution's bulk; whichever of the two areas is the small one is computed, so that a tail of 1e-300 has as many
 * digits as the middle. Source: Abramowitz and Stegun (1964), Handbook of Mathematical Functions, 6.1.41, 6.5.29, 6.5.31, 26.5.8;
 * the fractions are evaluated forwards by the method of Lentz (1976), Applied Optics 15, 668.
 */

const TINY = 1e-300;
const ENOUGH = 1e-16;
const MOST_TERMS = 20_000;

/** ln Γ(z) less (z − ½)·ln z − z + ½·ln 2π, for z > 0: the part that dies away as 1/(12 z). */
export function stirlingRest(z: number): number {
  if (z < 10) {
    // Γ(z) = Γ(z + 1)/z, in terms of the rests: no large numbers are subtracted.
    return stirlingRest(z + 1) + (z + 0.5) * Math.log1p(1 / z) - 1;
  }
  const w = 1 / (z * z);
  return (1 / 12 - w * (1 / 360 - w * (1 / 1260 - w * (1 / 1680 - w * (1 / 1188 - (w * 691) / 360360))))) / z;
}

/** ln of x^a·e^(−x)/Γ(a), a > 0 and x > 0, without loss where a and x are large and alike. */
function logGammaFactor(a: number, x: number): number {
  const off = (x - a) / a;
  const fall = Math.abs(off) < 0.5 ? a * (Math.log1p(off) - off) : a * Math.log(x / a) - (x - a);
  return fall + 0.5 * Math.log(a / (2 * Math.PI)) - stirlingRest(a);
}

/**
 * Area of the gamma distribution of shape a below x and above it; the smaller of the two to full precision.
 *
 * @param a  shape, > 0
 * @param x  ≥ 0
 */
export function gammaAreas(a: number, x: number): { below: number; above: number } {
  if (x <= 0) return { below: 0, above: 1 };
  const factor = Math.exp(logGammaFactor(a, x));
  if (x < a + 1) {
    let term = 1 / a;
    let sum = term;
    for (let n = 1; n < MOST_TERMS && term > ENOUGH * sum; n++) {
      term *= x / (a + n);
      sum += term;
    }
    const below = Math.min(1, factor * sum);
    return { below, above: 1 - below };
  }
  const fraction = lentz(
    x + 1 - a,
    (n) => n * (a - n),
    (n) => x + 2 * n + 1 - a,
  );
  const above = Math.min(1, factor / fraction);
  return { below: 1 - above, above };
}

/** Density of the gamma distribution of shape a at x > 0, times x. */
export function gammaDensityTimesX(a: number, x: number): number {
  return Math.exp(logGammaFactor(a, x));
}

/** ln of Γ(a + ½)/(Γ(a)·Γ(½)), 1/B(a, ½), for a > 0 of any size. */
export function logHalfBeta(a: number): number {
  const ratio = a * Math.log1p(0.5 / a) + 0.5 * Math.log(a) - 0.5 + stirlingRest(a + 0.5) - stirlingRest(a);
  return ratio - 0.5 * Math.log(Math.PI);
}

/**
 * Areas of Student's t distribution from 0 to t and beyond t, t ≥ 0; the smaller of the two to full precision.
 *
 * With x = v/(v + t²) the area beyond t is half the incomplete beta function I_x(v/2, ½).
 */
export function studentAreas(t: number, v: number): { inside: number; beyond: number } {
  if (t === 0) return { inside: 0, beyond: 0.5 };
  const a = v / 2;
  const square = (t / v) * t;
  const x = 1 / (1 + square);
  const y = square === Number.POSITIVE_INFINITY ? 1 : square / (1 + square);
  // x^a·y^½/B, where x is close to 1 by way of its distance from it.
  const logX = square < 1e300 ? -Math.log1p(square) : 2 * (Math.log(v) / 2 - Math.log(t));
  const factor = Math.exp(a * logX + 0.5 * Math.log(y) + logHalfBeta(a));
  if (x < (a + 1) / (a + 2.5)) {
    const beyond = (0.5 * factor) / (a * betaFraction(a, 0.5, x));
    return { inside: 0.5 - beyond, beyond };
  }
  const inside = (0.5 * factor) / (0.5 * betaFraction(0.5, a, y));
  return { inside, beyond: 0.5 - inside };
}

/** Continued fraction of the incomplete beta function. */
function betaFraction(a: number, b: number, x: number): number {
  return lentz(
    1,
    (n) => {
      const m = Math.floor(n / 2);
      return n % 2 === 0
        ? (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m))
        : (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    },
    () => 1,
  );
}

/** b₀ + a₁/(b₁ + a₂/(b₂ + …)). */
function lentz(first: number, a: (n: number) => number, b: (n: number) => number): number {
  let value = first === 0 ? TINY : first;
  let c = value;
  let d = 0;
  for (let n = 1; n < MOST_TERMS; n++) {
    d = b(n) + a(n) * d;
    if (d === 0) d = TINY;
    c = b(n) + a(n) / c;
    if (c === 0) c = TINY;
    d = 1 / d;
    const change = c * d;
    value *= change;
    if (Math.abs(change - 1) < ENOUGH * 2) break;
  }
  return value;
}
