/**
 * A thermal network in Foster form: the step response as a sum of exponentials, `Z(t) = Σ Rᵢ (1 − exp(−t/τᵢ))`.
 * Its elements have no place in the cooler; the Cauer form ({@link file://./cauer.ts}) gives them one.
 */
export interface FosterElement {
  readonly resistance_K_per_W: number;
  /** Time constant, s. */
  readonly time_s: number;
}

/**
 * Checks and orders a Foster network: positive resistances and time constants, ascending time constants, equal ones
 * joined.
 *
 * @throws RangeError naming the element that is not positive
 */
export function orderedFoster(elements: readonly FosterElement[]): FosterElement[] {
  if (elements.length === 0) throw new RangeError('a network needs at least one element');
  elements.forEach(({ resistance_K_per_W, time_s }, i) => {
    if (!(resistance_K_per_W > 0 && time_s > 0 && Number.isFinite(resistance_K_per_W + time_s))) {
      throw new RangeError(
        `element ${i + 1} has ${resistance_K_per_W} K/W and ${time_s} s; both must be positive and finite`,
      );
    }
  });
  const ordered = [...elements].sort((a, b) => a.time_s - b.time_s);
  const joined: FosterElement[] = [];
  for (const element of ordered) {
    const last = joined[joined.length - 1];
    if (last && last.time_s === element.time_s) {
      joined[joined.length - 1] = {
        resistance_K_per_W: last.resistance_K_per_W + element.resistance_K_per_W,
        time_s: last.time_s,
      };
    } else joined.push(element);
  }
  return joined;
}

/**
 * Temperature rise of the source per watt, a time after the load was switched on, K/W.
 *
 * @example stepResponse([{ resistance_K_per_W: 0.2, time_s: 100 }], 100) // 0.12642…, 0.2 (1 − 1/e)
 */
export function stepResponse(elements: readonly FosterElement[], time_s: number): number {
  let sum = 0;
  for (const element of elements) sum -= element.resistance_K_per_W * Math.expm1(-time_s / element.time_s);
  return sum;
}

/** Steady resistance of the whole network, K/W. */
export function totalResistance(elements: readonly { resistance_K_per_W: number }[]): number {
  return elements.reduce((sum, element) => sum + element.resistance_K_per_W, 0);
}
