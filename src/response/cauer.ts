import { transpose } from '../numerics/matrix.ts';
import { singularValues } from '../numerics/orthogonal.ts';
import { multiply, ratioToNumber, wholeNumbers } from './exact-ratio.ts';
import { type FosterElement, orderedFoster } from './foster.ts';

/**
 * One rung of a ladder from source to air: a heat capacity at a node, and the resistance from that node to the next
 * (the last one: to the air).
 */
export interface CauerElement {
  readonly resistance_K_per_W: number;
  readonly capacity_J_per_K: number;
}

/**
 * Foster form to Cauer form, exactly.
 *
 * The driving-point impedance `Z(s) = Σ Rᵢ/(1 + s τᵢ) = N(s)/D(s)` is expanded into Stieltjes' continued fraction
 * `1/(s C₁ + 1/(R₁ + 1/(s C₂ + …)))` by long division. In doubles the division loses about a digit an element; here
 * it is done in whole numbers (Routh's array), so that the only rounding is that of the results.
 *
 * @param foster  elements in any order; equal time constants count as one element
 * @returns rungs from source to air, as many as there are different time constants
 * @example
 * // 1/(1 + s) + 1/(1 + 2s): C 2/3, R 9/5, C 25/3, R 1/5
 * cauerFromFoster([{ resistance_K_per_W: 1, time_s: 1 }, { resistance_K_per_W: 1, time_s: 2 }])
 */
export function cauerFromFoster(foster: readonly FosterElement[]): CauerElement[] {
  const elements = orderedFoster(foster);
  const n = elements.length;
  const resistances = wholeNumbers(elements.map((element) => element.resistance_K_per_W));
  const times = wholeNumbers(elements.map((element) => element.time_s));
  // In units of 2^−shift: numerator and denominator of Z as polynomials of s.
  let denominator: bigint[] = [1n];
  for (const t of times.whole) denominator = multiply(denominator, [1n, t]);
  let numerator = new Array<bigint>(n).fill(0n);
  for (let i = 0; i < n; i++) {
    let product: bigint[] = [resistances.whole[i]];
    for (let j = 0; j < n; j++) if (j !== i) product = multiply(product, [1n, times.whole[j]]);
    numerator = numerator.map((value, k) => value + product[k]);
  }
  // Routh's array without fractions: row k+1 is a 2 × 2 determinant of the two rows before it, and from the third on
  // the leading number of row k−2 divides it exactly (after Jeltsch 1979, cited from memory), so that numbers grow only in proportion to n.
  const rows: bigint[][] = [denominator.reverse(), numerator.reverse()];
  const lead = (k: number) => rows[k][0];
  for (let k = 1; k < 2 * n; k++) {
    const [a, b] = [rows[k - 1], rows[k]];
    const divisor = k >= 3 ? lead(k - 2) : 1n;
    rows.push(
      Array.from({ length: a.length - 1 }, (_, j) => (b[0] * a[j + 1] - a[0] * (b[j + 1] ?? 0n)) / divisor),
    );
  }
  // In that array row k is its true value times the leading number of row k−1.
  const quotient = (k: number, exponent: number) => {
    if (k === 1) return ratioToNumber(lead(0), lead(1), exponent);
    return ratioToNumber(lead(k - 1) ** 2n, k === 2 ? lead(2) : lead(k - 2) * lead(k), exponent);
  };
  return elements.map((_, i) => ({
    resistance_K_per_W: quotient(2 * i + 2, -resistances.shift),
    capacity_J_per_K: quotient(2 * i + 1, resistances.shift - times.shift),
  }));
}

/** The natural modes of a ladder: rates in 1/s and, for each, the temperatures of all nodes. */
export interface LadderModes {
  readonly rates: Float64Array;
  /** `shapes[mode][node]`, orthonormal after weighting each node by the square root of its capacity. */
  readonly shapes: readonly Float64Array[];
  readonly rootCapacities: Float64Array;
}

/**
 * Natural modes of a ladder.
 *
 * Its conductance matrix scaled by the capacities is `WᵀW` with W bidiagonal, one row a resistance. One-sided Jacobi
 * rotations on W find rates and shapes to high relative accuracy, the slowest rate as well as the fastest, which an
 * eigenvalue routine on the product would not (Demmel and Kahan 1990 on why the factor keeps what the product loses).
 */
export function ladderModes(rungs: readonly CauerElement[]): LadderModes {
  const n = rungs.length;
  const rootCapacities = Float64Array.from(rungs, (rung) => Math.sqrt(rung.capacity_J_per_K));
  // Row k of W is the flow through resistance k.
  const w = new Float64Array(n * n);
  rungs.forEach((rung, k) => {
    const root = 1 / Math.sqrt(rung.resistance_K_per_W);
    w[k * n + k] = root / rootCapacities[k];
    if (k + 1 < n) w[k * n + k + 1] = -root / rootCapacities[k + 1];
  });
  const vectors = new Float64Array(n * n);
  const rates = singularValues(w, n, n, vectors).map((value) => value * value);
  const columns = transpose(vectors, n, n);
  return {
    rates,
    shapes: Array.from(rates, (_, mode) => columns.subarray(mode * n, mode * n + n)),
    rootCapacities,
  };
}

/**
 * Cauer form to Foster form, through the ladder's natural modes: the share of mode i in the source's response is the
 * square of what the mode has at the source.
 *
 * @returns elements in ascending order of time constant
 */
export function fosterFromCauer(rungs: readonly CauerElement[]): FosterElement[] {
  rungs.forEach(({ resistance_K_per_W, capacity_J_per_K }, i) => {
    if (!(resistance_K_per_W > 0 && capacity_J_per_K > 0)) {
      throw new RangeError(
        `rung ${i + 1} has ${resistance_K_per_W} K/W and ${capacity_J_per_K} J/K; both must be positive`,
      );
    }
  });
  const { rates, shapes, rootCapacities } = ladderModes(rungs);
  return Array.from(rates, (rate, i) => ({
    resistance_K_per_W: (shapes[i][0] / rootCapacities[0]) ** 2 / rate,
    time_s: 1 / rate,
  }));
}
