/**
 * The error function erf(x) = (2/√π)·∫₀ˣ exp(−v²) dv: how far heat has spread sideways from a straight edge.
 *
 * Below 2.6 the series with positive terms `2x·exp(−x²)/√π · Σ (2x²)ⁿ/(2n+1)!!`, above it the continued fraction
 * of erfc (Abramowitz and Stegun 7.1.6 and 7.1.14). Good to about 1e-15 over the whole axis.
 *
 * @param x  any real number
 * @example erf(0.5) // 0.5204998778
 */
export function erf(x: number): number {
  const size = Math.abs(x);
  if (size > 2.6) return Math.sign(x) * (1 - erfc(size));
  const square = 2 * size * size;
  let term = 1;
  let sum = 1;
  for (let n = 1; term > 1e-17 * sum; n += 1) {
    term *= square / (2 * n + 1);
    sum += term;
  }
  return ((2 * x) / Math.sqrt(Math.PI)) * Math.exp(-size * size) * sum;
}

/** Complement 1 − erf(x), without loss of digits where it is small. */
export function erfc(x: number): number {
  if (x < 2.6) return 1 - erf(x);
  if (x > 27) return 0;
  let fraction = 0;
  for (let n = 60; n >= 1; n -= 1) fraction = n / 2 / (x + fraction);
  return Math.exp(-x * x) / Math.sqrt(Math.PI) / (x + fraction);
}

/** Integral of erfc from x to infinity: exp(−x²)/√π − x·erfc(x). */
export function erfcIntegral(x: number): number {
  return Math.max(0, Math.exp(-x * x) / Math.sqrt(Math.PI) - x * erfc(x));
}
