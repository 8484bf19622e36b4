/**
 * Quantiles and tail areas of the standard distributions, under the names used in this project.
 *
 * Written out, so that nothing but arithmetic is loaded at start and in the page; `test/published/` holds them against
 * printed tables and, over their whole range, against an established general-purpose library.
 */
import { gammaAreas, gammaDensityTimesX, logHalfBeta, stirlingRest, studentAreas } from './incomplete.ts';
import { newtonRoot } from './roots.ts';

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

/**
 * The z below which a share p (0 < p < 1) of the standard normal distribution lies, to about 1e-15.
 *
 * Source: Wichura (1988), Algorithm AS 241 (PPND16), Applied Statistics 37, 477.
 *
 * @example normalQuantile(0.975) // 1.959963984540054
 */
export function normalQuantile(p: number): number {
  if (!(p > 0 && p < 1))
    return p === 0 ? Number.NEGATIVE_INFINITY : p === 1 ? Number.POSITIVE_INFINITY : Number.NaN;
  const q = p - 0.5;
  if (Math.abs(q) <= 0.425) return q * ratio(MIDDLE, 0.180625 - q * q);
  const r = Math.sqrt(-Math.log(q < 0 ? p : 1 - p));
  const z = r <= 5 ? ratio(FLANK, r - 1.6) : ratio(TAIL, r - 5);
  return q < 0 ? -z : z;
}

/** Coefficients of numerator and denominator, highest power first. */
type Ratio = readonly [readonly number[], readonly number[]];
const MIDDLE: Ratio = [
  [
    2509.0809287301227, 33430.57558358813, 67265.7709270087, 45921.95393154987, 13731.69376550946,
    1971.5909503065513, 133.14166789178438, 3.3871328727963665,
  ],
  [
    5226.495278852854, 28729.085735721943, 39307.89580009271, 21213.794301586597, 5394.196021424751,
    687.1870074920579, 42.31333070160091, 1,
  ],
];
const FLANK: Ratio = [
  [
    0.0007745450142783414, 0.022723844989269184, 0.2417807251774506, 1.2704582524523684, 3.6478483247632045,
    5.769497221460691, 4.630337846156546, 1.4234371107496835,
  ],
  [
    1.0507500716444169e-9, 0.0005475938084995345, 0.015198666563616457, 0.14810397642748008, 0.6897673349851,
    1.6763848301838038, 2.053191626637759, 1,
  ],
];
const TAIL: Ratio = [
  [
    2.0103343992922881e-7, 0.000027115555687434876, 0.0012426609473880784, 0.026532189526576124,
    0.29656057182850487, 1.7848265399172913, 5.463784911164114, 6.657904643501103,
  ],
  [
    2.0442631033899397e-15, 1.421511758316446e-7, 0.000018463183175100548, 0.0007868691311456133,
    0.014875361290850615, 0.1369298809227358, 0.599832206555888, 1,
  ],
];

/** Quotient of two polynomials at x, coefficients of the highest power first (Horner). */
function ratio([above, below]: Ratio, x: number): number {
  let [a, b] = [0, 0];
  for (const c of above) a = a * x + c;
  for (const c of below) b = b * x + c;
  return a / b;
}

/**
 * Student's t quantile; more than a million degrees of freedom count as infinite.
 *
 * The area beyond t is solved for ln t by Newton's method: on logarithmic scales the tail is nearly straight.
 *
 * @param p   share below, 0 < p < 1
 * @param degreesOfFreedom  > 0, may be fractional (Welch–Satterthwaite) or infinite
 * @example studentTQuantile(0.975, 10) // 2.2281388519863
 */
export function studentTQuantile(p: number, degreesOfFreedom: number): number {
  const v = degreesOfFreedom;
  if (v > 1e6) return normalQuantile(p);
  if (!(p > 0 && p < 1 && v > 0)) return v > 0 ? normalQuantile(p) : Number.NaN;
  if (p === 0.5) return 0;
  const tail = Math.min(p, 1 - p);
  // Near the middle the area between 0 and t has the digits, elsewhere the area beyond t.
  const central = tail > 0.25;
  const target = central ? Math.abs(p - 0.5) : tail;
  const logDensityAt0 = logHalfBeta(v / 2) - 0.5 * Math.log(v);
  const u = newtonRoot(
    Math.log(startOfT(tail, v)),
    (logT) => {
      const t = Math.exp(logT);
      const { inside, beyond } = studentAreas(t, v);
      const area = central ? inside : beyond;
      const square = (t / v) * t;
      const density = Math.exp(logDensityAt0 + logT - ((v + 1) / 2) * Math.log1p(square));
      return { off: Math.log(area / target), slope: (central ? density : -density) / area };
    },
    central,
  );
  return p < 0.5 ? -Math.exp(u) : Math.exp(u);
}

/** For few degrees of freedom the tail's power law, which lies beyond t; for many the normal quantile with its first correction. */
function startOfT(tail: number, v: number): number {
  if (v < 20 && tail <= 0.25) {
    const power = (Math.log(tail * v) - logHalfBeta(v / 2)) / v;
    return Math.exp(Math.min(700, 0.5 * Math.log(v) - power));
  }
  const z = -normalQuantile(tail);
  return z + (z ** 3 + z) / (4 * Math.max(v, 1));
}

/** Area of Student's t distribution below t. */
export function studentTCdf(t: number, degreesOfFreedom: number): number {
  if (degreesOfFreedom > 1e6) return normalCdf(t);
  if (!(degreesOfFreedom > 0) || Number.isNaN(t)) return Number.NaN;
  const { inside, beyond } = studentAreas(Math.abs(t), degreesOfFreedom);
  if (t < 0) return beyond;
  return beyond < 0.25 ? 1 - beyond : 0.5 + inside;
}

/**
 * χ² quantile at share p for k degrees of freedom.
 *
 * @param p  share below, 0 < p < 1
 * @param k  > 0, may be fractional
 * @example chiSquaredQuantile(0.95, 10) // 18.307038053275146
 */
export function chiSquaredQuantile(p: number, k: number): number {
  if (!(p > 0 && p < 1 && k > 0))
    return k > 0 && p === 0 ? 0 : k > 0 && p === 1 ? Number.POSITIVE_INFINITY : Number.NaN;
  const a = k / 2;
  const lower = p <= 0.5;
  const target = lower ? p : 1 - p;
  // Wilson and Hilferty (1931); where that fails, in the lower tail of few degrees of freedom, the power law there.
  const cube = 1 - 2 / (9 * k) + normalQuantile(p) * Math.sqrt(2 / (9 * k));
  const logPower = (Math.log(p) + logGammaOf(a + 1)) / a;
  const start = cube > 0.3 ? Math.log(a) + 3 * Math.log(cube) : Math.min(logPower, Math.log(a + 1));
  if (logPower < -740) return 0;
  const u = newtonRoot(
    start,
    (logX) => {
      const x = Math.exp(logX);
      const { below, above } = gammaAreas(a, x);
      const area = lower ? below : above;
      const density = gammaDensityTimesX(a, x);
      return { off: Math.log(area / target), slope: (lower ? density : -density) / area };
    },
    lower,
  );
  return 2 * Math.exp(u);
}

/** ln Γ(z) by Stirling's series, for z large enough that `stirlingRest` holds. */
function logGammaOf(z: number): number {
  return (z - 0.5) * Math.log(z) - z + 0.5 * Math.log(2 * Math.PI) + stirlingRest(z);
}
