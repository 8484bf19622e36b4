import { chiSquaredQuantile, normalCdf } from './distributions.ts';
import { lazily } from './lazily.ts';
import { rootBetween } from './roots.ts';

/** Step, reach on either side and widest range of the integral, standard deviations. */
const STEP = 0.1;
const REACH = 8;
const WIDEST = 40;

/** Place of zero in it. */
const OFFSET = Math.round((REACH + WIDEST) / STEP);

/** Φ at multiples of STEP from −REACH − WIDEST to REACH + WIDEST, made at first use. */
const phi = lazily(() =>
  Float64Array.from({ length: 2 * OFFSET + 1 }, (_, i) => normalCdf((i - OFFSET) * STEP)),
);

/**
 * Distribution of the studentized range of k means (Tukey), prepared once for a k and then quick for any ν and p.
 *
 * The range of k normal values is below w with probability k·∫φ(z)·[Φ(z) − Φ(z − w)]^(k−1) dz, whose integrand is smooth
 * and dies away at both ends, where the trapezoidal rule is accurate to rounding; it is tabled over w. The division by an
 * estimate s with ν·s²/σ² ~ χ²_ν is an average over that table.
 *
 * Source: Tukey (1953); tables of Harter (1960).
 *
 * @param k  means compared, ≥ 2
 * @example studentizedRange(10)(0.95, 60) // 4.646, (p, degrees of freedom) → q; above 10,000 counts as infinite
 */
export function studentizedRange(k: number): (p: number, degreesOfFreedom: number) => number {
  const table = normalRangeTable(k);
  return (p, degreesOfFreedom) => {
    const scales = scaleNodes(degreesOfFreedom);
    const excess = (q: number): number => {
      let sum = 0;
      for (const { weight, s } of scales) sum += weight * interpolate(table, q * s);
      return sum - p;
    };
    let low = 0;
    let high = 4;
    while (excess(high) < 0 && high < 1e4) {
      low = high;
      high *= 1.5;
    }
    return rootBetween(excess, low, high, 1e-12);
  };
}

/** Probability that the range of k standard normal values is below w, at w = 0, STEP, 2·STEP … */
function normalRangeTable(k: number): Float64Array {
  const below = phi();
  const reach = Math.round(REACH / STEP);
  const size = Math.round(WIDEST / STEP);
  const table = new Float64Array(size + 1);
  const density = Float64Array.from(
    { length: 2 * reach + 1 },
    (_, i) => (k * STEP * Math.exp(-(((i - reach) * STEP) ** 2) / 2)) / Math.sqrt(2 * Math.PI),
  );
  // z is the greatest of the values, so that a wide range only means a least value far out on the left.
  for (let w = 1; w <= size; w++) {
    let sum = 0;
    for (let i = -reach; i <= reach; i++) {
      const between = below[i + OFFSET] - below[Math.max(i - w, -OFFSET) + OFFSET];
      sum += density[i + reach] * between ** (k - 1);
    }
    table[w] = Math.min(1, sum);
    if (w > 10 && 1 - table[w] < 1e-15) {
      table.fill(1, w);
      break;
    }
  }
  return table;
}

/** Four-point Lagrange interpolation in the table. */
function interpolate(table: Float64Array, w: number): number {
  const x = w / STEP;
  const last = table.length - 1;
  if (x >= last - 2) return table[last];
  const i = Math.max(1, Math.floor(x));
  const t = x - i;
  const [a, b, c, d] = [table[i - 1], table[i], table[i + 1], table[i + 2]];
  return (
    (-t * (t - 1) * (t - 2) * a) / 6 +
    ((t + 1) * (t - 1) * (t - 2) * b) / 2 -
    ((t + 1) * t * (t - 2) * c) / 2 +
    ((t + 1) * t * (t - 1) * d) / 6
  );
}

/** Nodes of the integral over the estimated standard deviation. */
const SCALE_NODES = 48;

/** Values of s with their probabilities: u = (1 + tanh t)/2 pushes equal steps of t into the tails of s, where q is decided. */
function scaleNodes(degreesOfFreedom: number): { weight: number; s: number }[] {
  if (degreesOfFreedom > 1e4) return [{ weight: 1, s: 1 }];
  const nodes: { weight: number; s: number }[] = [];
  const reach = 9;
  for (let i = 0; i <= SCALE_NODES; i++) {
    const t = -reach + (2 * reach * i) / SCALE_NODES;
    const u = 1 / (1 + Math.exp(-2 * t));
    nodes.push({
      weight: 1 / Math.cosh(t) ** 2,
      s: Math.sqrt(chiSquaredQuantile(Math.min(u, 1 - 1e-16), degreesOfFreedom) / degreesOfFreedom),
    });
  }
  const total = nodes.reduce((sum, { weight }) => sum + weight, 0);
  return nodes.map(({ weight, s }) => ({ weight: weight / total, s }));
}
