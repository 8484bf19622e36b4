/**
 * Spreading from a rectangle into a body so large that its edges do not matter.
 *
 * Heat entering a half-space at one point raises the temperature at distance r by `Q/(2πkr)`; an evenly heated
 * rectangle is the sum of its points. The resistances fall with the size of the source, not with its area: halving
 * both sides doubles them. They are the upper limit of what a thick base can do.
 *
 * Source: Handbook of Heat Transfer, 3rd ed., chapter 3 (conduction and thermal contact resistances), isoflux
 * rectangle on a half-space; half-widths of 1 m on 1 W/mK give 0.2366 K/W (mean) and 0.2805 K/W (centre).
 */
import { requirePositive } from './rectangle.ts';

/**
 * Mean temperature of an evenly heated rectangle over its power, K/W.
 *
 * @param width_mm   one side of the source (twice the handbook's half-width)
 * @param depth_mm   the other side
 * @param k_W_per_mK conductivity of the body
 * @throws RangeError unless all three are above zero
 * @example halfSpaceMean(2000, 2000, 1) // 0.2366
 */
export function halfSpaceMean(width_mm: number, depth_mm: number, k_W_per_mK: number): number {
  const [l, w] = checked(width_mm, depth_mm, k_W_per_mK);
  const doubled = l * w * (l * Math.asinh(w / l) + w * Math.asinh(l / w)) + edgeTerm(l, w);
  return doubled / (Math.PI * k_W_per_mK * (l * w) ** 2);
}

/**
 * Temperature at a point of the surface over the power entering through the rectangle, K/W.
 *
 * @param x_mm  distance of the point from the source's centre along its width, inside the source or outside
 * @param y_mm  likewise along its depth
 * @example halfSpaceAt(2000, 2000, 1) // 0.2805 at the centre
 */
export function halfSpaceAt(
  width_mm: number,
  depth_mm: number,
  k_W_per_mK: number,
  x_mm = 0,
  y_mm = 0,
): number {
  const [l, w] = checked(width_mm, depth_mm, k_W_per_mK);
  const x = x_mm / 1000;
  const y = y_mm / 1000;
  let sum = 0;
  for (const u of [l / 2 - x, l / 2 + x]) for (const v of [w / 2 - y, w / 2 + y]) sum += corner(u, v);
  return sum / (2 * Math.PI * k_W_per_mK * l * w);
}

/** ∫∫ 1/r over the rectangle from the origin to (u, v), odd in both. */
function corner(u: number, v: number): number {
  if (u === 0 || v === 0) return 0;
  return u * Math.asinh(v / Math.abs(u)) + v * Math.asinh(u / Math.abs(v));
}

/** (l³ + w³ − (l² + w²)^1.5)/3. */
function edgeTerm(l: number, w: number): number {
  return (l ** 3 + w ** 3 - (l * l + w * w) ** 1.5) / 3;
}

function checked(width_mm: number, depth_mm: number, k_W_per_mK: number): [number, number] {
  requirePositive('width_mm', width_mm);
  requirePositive('depth_mm', depth_mm);
  requirePositive('k_W_per_mK', k_W_per_mK);
  return [width_mm / 1000, depth_mm / 1000];
}
