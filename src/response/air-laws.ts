import { type Blocks, type Joined, meansOver, type Response } from './response.ts';

/**
 * How the source follows the air. `ladder`: through all lags in a row, as a ladder of resistances and masses does.
 * `slowest`: through the slowest alone, where only the fins and what hangs on them meet the air. `shares`: each lag by
 * its share of the rise, where the air reaches the parts side by side. A number: through one lag of so many seconds that is none of the
 * cooler's own, such as that between the air and its sensor; 0 is at once.
 */
export type AirLaw = 'ladder' | 'slowest' | 'shares' | number;

/** Laws that are tried, each with the belief in it before any log: a ladder is what most networks are. */
export const airLaws: readonly { readonly law: AirLaw; readonly prior: number }[] = [
  { law: 'ladder', prior: 0.3 },
  { law: 'slowest', prior: 0.15 },
  { law: 'shares', prior: 0.15 },
  { law: 0, prior: 0.15 },
  ...[20, 60, 150, 400].map((law) => ({ law, prior: 0.0625 })),
];

/** Time constants in s and amplitudes of a response, as many as `terms`. */
export interface Network {
  readonly terms: number;
  readonly taus: ArrayLike<number>;
  readonly amplitudes: ArrayLike<number>;
}

/**
 * Air as the source sees it by a law, °C at the blocks.
 *
 * @param part  working room of as many values
 */
export function airBy(
  law: AirLaw,
  blocks: Blocks,
  air_C: Float64Array,
  { terms, taus, amplitudes }: Network,
  out: Float64Array,
  part: Float64Array,
): void {
  const n = blocks.count;
  if (typeof law === 'number' && law > 0) lagOf(blocks, law, air_C, out);
  else if (law === 0 || terms === 0) out.set(n < air_C.length ? air_C.subarray(0, n) : air_C);
  else if (law === 'shares') {
    let total = 0;
    for (let i = 0; i < terms; i++) total += Math.abs(amplitudes[i]);
    out.fill(0, 0, n);
    for (let i = 0; i < terms; i++) {
      lagOf(blocks, taus[i], air_C, part);
      const share = total > 0 ? Math.abs(amplitudes[i]) / total : 1 / terms;
      for (let k = 0; k < n; k++) out[k] += share * part[k];
    }
  } else {
    // The slowest lag comes first: what it lets through is smooth.
    lagOf(blocks, taus[terms - 1], air_C, out);
    if (law === 'ladder') for (let i = terms - 2; i >= 0; i--) lagOf(blocks, taus[i], out, out);
  }
}

/** Air by one law for a fit on joined blocks, worked out on the finer ones of the response. */
export class AirSeen {
  readonly isCoupled: boolean;
  private readonly law: AirLaw;
  private readonly response: Response;
  private readonly blocks: Joined;
  private readonly fine: Float64Array;
  private readonly part: Float64Array;
  /** At the joined blocks, by the network asked for last. */
  readonly air_C: Float64Array;

  constructor(law: AirLaw, response: Response, blocks: Joined) {
    this.law = law;
    this.response = response;
    this.blocks = blocks;
    this.isCoupled = typeof law !== 'number';
    this.fine = new Float64Array(response.count);
    this.part = new Float64Array(response.count);
    this.air_C = new Float64Array(blocks.count);
    this.follow({ terms: 0, taus: [], amplitudes: [] });
  }

  follow(network: Network): void {
    const { law, response, blocks, fine, part, air_C } = this;
    airBy(law, response, response.air_C, network, fine, part);
    meansOver(blocks, response.rows, fine, air_C);
  }

  /**
   * Adds to a column how the air seen changes with the logarithm of one of the time constants: one more lag of it less none.
   */
  addDrift(i: number, { terms, taus, amplitudes }: Network, column: Float64Array): void {
    const { law, blocks, air_C, part } = this;
    if (typeof law === 'number' || (law === 'slowest' && i < terms - 1)) return;
    let share = 1;
    if (law === 'shares') {
      let total = 0;
      for (let j = 0; j < terms; j++) total += Math.abs(amplitudes[j]);
      share = Math.abs(amplitudes[i]) / total;
    }
    lagOf(blocks, taus[i], air_C, part);
    for (let k = 0; k < blocks.count; k++) column[k] += share * (part[k] - air_C[k]);
  }
}

/**
 * One lag 1/(1 + s τ), started at rest, integrated exactly for an input that is linear between block centres.
 *
 * Seen from the air, a ladder of thermal resistances and capacities is a voltage divider without zeros, so what
 * reaches the open end at the source is the air temperature through the product of such lags, the τ being the
 * natural time constants that the step response shows. The unknown air before the first block leaves terms in exp(−t/τ), which the
 * fit has anyway.
 *
 * @param out  may be the input
 */
export function lagOf({ count, time_s }: Blocks, tau: number, input: Float64Array, out: Float64Array): void {
  let lastStep = -1;
  let keep = 0;
  let mean = 0;
  let before = input[0];
  let value = before;
  out[0] = value;
  for (let k = 1; k < count; k++) {
    const step = time_s[k] - time_s[k - 1];
    if (Math.abs(step - lastStep) > 1e-9) {
      lastStep = step;
      keep = Math.exp(-step / tau);
      mean = (tau / step) * (1 - keep);
    }
    const now = input[k];
    value = keep * value + (mean - keep) * before + (1 - mean) * now;
    before = now;
    out[k] = value;
  }
}
