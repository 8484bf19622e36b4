/** Zeros of functions of one variable. */

/**
 * A zero of a continuous function between two places where it differs in sign; where it does not, the place that is nearer
 * to zero.
 *
 * Each step takes the zero of a parabola or chord through the last values where that lies well inside the bracket and falls
 * quickly enough, and halves otherwise: never slower than halving by much, and mostly five to ten evaluations.
 *
 * Source: Brent (1973), Algorithms for Minimization without Derivatives, chapter 4.
 *
 * @param tolerance  within which the zero is wanted, in x; no finer than four units in the last place is tried
 * @example rootBetween((x) => x * x - 2, 0, 2) // 1.4142135623730951
 */
export function rootBetween(f: (x: number) => number, low: number, high: number, tolerance = 0): number {
  // b is the best so far, a the one before it, c the one with the other sign.
  let [a, b] = [low, high];
  let [fa, fb] = [f(a), f(b)];
  if (fa * fb > 0) return Math.abs(fa) < Math.abs(fb) ? a : b;
  let [c, fc] = [a, fa];
  let step = b - a;
  let before = step;
  for (let count = 0; count < 200; count++) {
    if (Math.abs(fc) < Math.abs(fb)) {
      [a, b, c] = [b, c, b];
      [fa, fb, fc] = [fb, fc, fb];
    }
    const within = 2 * Number.EPSILON * Math.abs(b) + tolerance / 2;
    const half = (c - b) / 2;
    if (Math.abs(half) <= within || fb === 0) break;
    const tried = interpolated(a, fa, b, fb, c, fc);
    const accepted =
      Math.abs(before) >= within &&
      Math.abs(fa) > Math.abs(fb) &&
      tried * half > 0 &&
      Math.abs(tried) < Math.min(1.5 * Math.abs(half) - within / 2, Math.abs(before) / 2);
    before = accepted ? step : half;
    step = accepted ? tried : half;
    [a, fa] = [b, fb];
    b += Math.abs(step) > within ? step : Math.sign(half) * within;
    fb = f(b);
    if (fb * fc > 0) {
      [c, fc] = [a, fa];
      step = b - a;
      before = step;
    }
  }
  return b;
}

/** From b to the zero of the parabola in f through three points, or of the chord where two of them are one. */
function interpolated(a: number, fa: number, b: number, fb: number, c: number, fc: number): number {
  const s = fb / fa;
  if (a === c) return ((c - b) * s) / (s - 1);
  const [q, r] = [fa / fc, fb / fc];
  const p = s * ((c - b) * q * (q - r) - (b - a) * (r - 1));
  return -p / ((q - 1) * (r - 1) * (s - 1));
}

/** The zeros of a continuous function on a grid from low to high, one for each interval over which its sign changes. */
export function signChanges(
  f: (x: number) => number,
  low: number,
  high: number,
  step: number,
  tolerance = 1e-6,
): number[] {
  const zeros: number[] = [];
  let left = low;
  let fLeft = f(left);
  for (let right = low + step; right <= high; right += step) {
    const fRight = f(right);
    if (fLeft !== 0 && fLeft * fRight <= 0) zeros.push(rootBetween(f, left, right, tolerance));
    left = right;
    fLeft = fRight;
  }
  return zeros;
}

/** The greatest x at which something still holds, by halving; it holds at low and not at high. */
export function lastWhere(
  holds: (x: number) => boolean,
  low: number,
  high: number,
  tolerance: number,
): number {
  let [a, b] = [low, high];
  while (b - a > tolerance) {
    const middle = (a + b) / 2;
    if (holds(middle)) a = middle;
    else b = middle;
  }
  return a;
}

/**
 * Zero of a monotonic function by Newton's method, kept between the closest points known to lie on either side of it.
 *
 * @param at  the function and its slope
 * @param rising  whether it grows
 */
export function newtonRoot(
  start: number,
  at: (u: number) => { off: number; slope: number },
  rising: boolean,
): number {
  let [low, high] = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  let u = start;
  for (let step = 0; step < 200; step++) {
    const { off, slope } = at(u);
    if (off === 0) return u;
    if (off < 0 === rising) low = u;
    else high = u;
    let next = u - off / slope;
    if (!(next > low && next < high) || !Number.isFinite(next)) {
      next = Number.isFinite(low) && Number.isFinite(high) ? (low + high) / 2 : low === u ? u + 1 : u - 1;
    }
    if (Math.abs(next - u) <= 2e-16 * Math.max(1, Math.abs(u))) return next;
    u = next;
  }
  return u;
}

/** Where a function with one dip between two places is least, by golden section: good to the root of the function's own digits. */
export function leastBetween(f: (x: number) => number, low: number, high: number, tolerance: number): number {
  const ratio = (Math.sqrt(5) - 1) / 2;
  let [l, h] = [low, high];
  let [p, q] = [h - ratio * (h - l), l + ratio * (h - l)];
  let [fp, fq] = [f(p), f(q)];
  while (h - l > tolerance) {
    if (fp <= fq) {
      [h, q, fq] = [q, p, fp];
      p = h - ratio * (h - l);
      fp = f(p);
    } else {
      [l, p, fp] = [p, q, fq];
      q = l + ratio * (h - l);
      fq = f(q);
    }
  }
  return (l + h) / 2;
}
