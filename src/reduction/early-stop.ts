import { type Asymptote, type AsymptoteOptions, asymptoteOf } from './asymptote.ts';
import type { LogBlocks } from './log-blocks.ts';

/**
 * The earliest time at which the asymptote was already known: its 95 % half-width, fitted from nothing but the rows
 * up to then, no more than `limit_K`.
 *
 * Where to look first comes from the finished fit: as rows come in, the normal matrix of the linearised fit grows,
 * and the corner of its inverse is the variance of the asymptote at that time. From there the log is really fitted up
 * to a few times, each three tenths later, until one fit is sure enough. Only the noise of the readings is taken from the
 * whole log; a bench knows its noise.
 *
 * @returns seconds after the step, or `undefined` when the log ended before
 */
export function earlyStop(
  log: LogBlocks,
  first: number,
  end: number,
  origin_s: number,
  finished: Asymptote,
  limit_K: number,
  options: AsymptoteOptions = {},
): number | undefined {
  if (finished.halfWidth_K > limit_K) return undefined;
  const total = log.time_s[end - 1] - origin_s;
  const shortest = 12 * log.interval_s;
  const attempted: AsymptoteOptions = {
    longest_s: options.longest_s,
    window_s: options.window_s,
    change_W: options.change_W,
    finished,
    enough_K: limit_K,
  };
  let time = Math.max(shortest, 1.15 * foreseen(finished, limit_K));
  for (
    let attempt = 0;
    attempt < 8 && time < total;
    attempt++, time = Math.max(time * 1.3, time + log.interval_s)
  ) {
    let stop = first;
    let high = end;
    while (stop < high) {
      const middle = (stop + high) >> 1;
      if (log.time_s[middle] - origin_s <= time) stop = middle + 1;
      else high = middle;
    }
    if (stop - first < 16) continue;
    const early = asymptoteOf(log, first, stop, origin_s, attempted);
    if (early && early.halfWidth_K <= limit_K) return log.time_s[stop - 1] - origin_s;
  }
  return total;
}

/** Time at which the linearised fit with all time constants free would be sure enough, s. */
function foreseen(finished: Asymptote, limit_K: number): number {
  const { blocks, timeConstants_s: taus, amplitudes_K: amplitudes, noise } = finished;
  const terms = taus.length;
  const size = 1 + 2 * terms;
  const normal = new Float64Array(size * size);
  for (let i = 1; i < size; i++) normal[i * size + i] = i <= terms ? 1e-3 : 0.25;
  const row = new Float64Array(size);
  const longRun = noise.white * noise.interval_s + 2 * noise.slow * noise.correlation_s;
  const wanted = (limit_K / 1.96) ** 2;
  const work = new Float64Array(size * size);
  for (let k = 0; k < blocks.count; k++) {
    const t = blocks.time_s[k];
    const weight = (blocks.rows[k] * noise.interval_s) / longRun;
    row[0] = 1;
    for (let i = 0; i < terms; i++) {
      const e = Math.exp(-t / taus[i]);
      row[1 + i] = e;
      row[1 + terms + i] = (amplitudes[i] * e * t) / taus[i];
    }
    for (let i = 0; i < size; i++)
      for (let j = 0; j < size; j++) normal[i * size + j] += weight * row[i] * row[j];
    if (k < 4 || k % 2 === 1) continue;
    work.set(normal);
    if (cornerOfInverse(work, size) <= wanted) return t;
  }
  return blocks.time_s[blocks.count - 1];
}

/** First diagonal element of the inverse: the other parameters are eliminated one by one. */
function cornerOfInverse(a: Float64Array, n: number): number {
  for (let p = n - 1; p > 0; p--) {
    const pivot = a[p * n + p];
    if (!(pivot > 0)) return Infinity;
    for (let i = 0; i < p; i++) {
      const share = a[i * n + p] / pivot;
      for (let j = 0; j < p; j++) a[i * n + j] -= share * a[p * n + j];
    }
  }
  return a[0] > 0 ? 1 / a[0] : Infinity;
}
