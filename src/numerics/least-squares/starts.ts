/**
 * Starts of the engine's own making.
 *
 * A start is wrong in size rather than in place: a factor of three in a time constant, of a thousand in a
 * rate. So the parameters are scattered by factors about the given start, a few per cent at first and up to a
 * thousand, or over the range between the bounds where both are given. The points follow Halton's sequence, which
 * fills the space evenly and is the same in every run.
 *
 * Source of the sequence: Halton (1960), Numerische Mathematik 2, 84.
 */
import type { FreeProblem } from './problem.ts';

/** Bases of the Halton sequence, one a parameter. */
const PRIMES = [2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53];
/** Half-widths of the scatter in decades, taken in turn. */
const DECADES = [0.1, 0.4, 1, 3];

/** Number k (from 1) of the van der Corput sequence in a base. */
export function halton(k: number, base: number): number {
  let value = 0;
  let fraction = 1 / base;
  for (let rest = k; rest > 0; rest = Math.floor(rest / base), fraction /= base)
    value += (rest % base) * fraction;
  return value;
}

/**
 * Point k of the scatter about `centre`.
 *
 * @param k       from 1
 * @param widest  how many of the widths to use: 1 stays within a fifth of the start, 4 goes to a thousandfold
 */
export function scatteredStart(
  problem: FreeProblem,
  centre: Float64Array,
  k: number,
  widest = DECADES.length,
): Float64Array {
  const { low, high, size } = problem;
  const decades = DECADES[k % widest];
  const point = new Float64Array(size);
  for (let j = 0; j < size; j++) {
    const h = halton(k, PRIMES[j % PRIMES.length] + (j >= PRIMES.length ? 2 * j : 0));
    const bounded = Number.isFinite(low[j]) && Number.isFinite(high[j]);
    point[j] =
      bounded && decades >= 1 ? between(low[j], high[j], h) : about(centre[j], decades, h, (k >> 2) + j);
    point[j] = Math.min(Math.max(point[j], low[j]), high[j]);
  }
  return point;
}

/**
 * A share h of the way from low to high: by ratio where both have one sign and are more than a factor 30
 * apart, else by difference.
 */
function between(low: number, high: number, h: number): number {
  if (low > 0 && high / low > 30) return low * (high / low) ** h;
  if (high < 0 && low / high > 30) return high * (low / high) ** h;
  return low + (high - low) * h;
}

/** A value spread by ±`decades` about a centre; every fourth also with the other sign. */
function about(centre: number, decades: number, h: number, turn: number): number {
  if (centre === 0) return (h - 0.5) * 2 * 10 ** (decades - 1);
  const sign = decades >= 1 && turn % 4 === 3 ? -1 : 1;
  return sign * centre * 10 ** ((2 * h - 1) * decades);
}
