import { normalCdf } from './distributions.ts';

/** Beyond this the tail is below 1e-18. */
const REACH = 9;
const PER_UNIT = 64;
const SIZE = 2 * REACH * PER_UNIT + 1;

/** Φ and φ at multiples of 1/64. */
const SHARE = Float64Array.from({ length: SIZE }, (_, k) => normalCdf(k / PER_UNIT - REACH));
const DENSITY = Float64Array.from({ length: SIZE }, (_, k) => normalDensity(k / PER_UNIT - REACH));

/** φ(z). */
export function normalDensity(z: number): number {
  return Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
}

/**
 * Share of a mixture below x and its density there, from a table of the normal distribution.
 *
 * Between the table's points Φ and φ are cubics that meet them with their slopes (Hermite); Φ is right to 1e-9.
 */
export function tabledShare(
  { weight, mean, deviation }: { weight: Float64Array; mean: Float64Array; deviation: Float64Array },
  x: number,
  stretch: number,
): { share: number; density: number } {
  let share = 0;
  let density = 0;
  for (let k = 0; k < weight.length; k++) {
    const width = deviation[k] * stretch;
    const z = (x - mean[k]) / width;
    if (z >= REACH) share += weight[k];
    if (!(z < REACH && z > -REACH)) continue;
    const place = (z + REACH) * PER_UNIT;
    const i = place | 0;
    const u = place - i;
    const v = 1 - u;
    const d0 = DENSITY[i];
    const d1 = DENSITY[i + 1];
    const z0 = i / PER_UNIT - REACH;
    const late = u * u * (3 - 2 * u);
    const bent = (u * v) / PER_UNIT;
    share += weight[k] * (SHARE[i] + late * (SHARE[i + 1] - SHARE[i]) + bent * (v * d0 - u * d1));
    const slopes = u * (z0 + 1 / PER_UNIT) * d1 - v * z0 * d0;
    density += (weight[k] * (d0 + late * (d1 - d0) + bent * slopes)) / width;
  }
  return { share, density };
}
