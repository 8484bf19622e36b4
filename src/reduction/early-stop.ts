import { type Asymptote, asymptoteOf } from './asymptote.ts';
import type { ExponentialFit } from './exponential-fit.ts';
import type { Readings } from './readings.ts';
import { lengthOf, type Response, responseUntil } from './response.ts';

/** A run may be stopped when its half-width is this share of what is wanted: the first time that it looks so is a lucky one. */
const caution = 0.9;
const pace = 1.2;

/**
 * The earliest time at which the asymptote was already known: its 95 % half-width, from nothing but the rows
 * up to then and what the bench's logs tell of noise and air, no more than `limit_K`, and so once more a little later.
 *
 * Where to look first comes from the finished fit: as rows come in, the normal matrix of the linearised fit grows,
 * and the corner of its inverse is the variance of the asymptote at that time. From there on the log is fitted up
 * to a few times, each a fifth later, as it would have been at that time.
 *
 * @returns seconds after the step, or `undefined` when the log ended before
 */
export function earlyStop(
  fit: ExponentialFit,
  response: Response,
  readings: Readings,
  finished: Asymptote,
  limit_K: number,
  drift: number,
): number | undefined {
  if (finished.halfWidth_K > limit_K) return undefined;
  const total = lengthOf(response);
  const wanted = caution * limit_K;
  let time = Math.max(12 * response.interval_s, 30, 1.15 * foreseen(response, readings, finished, wanted));
  for (; time < total; time *= pace) {
    const early = asymptoteOf(fit, responseUntil(response, time), readings, { enough_K: wanted, drift });
    if (early && early.halfWidth_K <= wanted) return time;
  }
  return total;
}

/** Time at which the linearised fit with all time constants free would be sure enough, s. */
function foreseen(
  response: Response,
  { noises }: Readings,
  { timeConstants_s: taus, amplitudes_K: amplitudes }: Asymptote,
  limit_K: number,
): number {
  const { white, parts } = noises[0].noise;
  const terms = taus.length;
  const size = 1 + 2 * terms;
  const normal = new Float64Array(size * size);
  for (let i = 1; i < size; i++) normal[i * size + i] = i <= terms ? 1e-3 : 0.25;
  const row = new Float64Array(size);
  const longRun =
    white + parts.reduce((sum, part) => sum + 2 * part.variance * Math.min(part.memory_s, 300), 0);
  const wanted = (limit_K / 1.96) ** 2;
  const work = new Float64Array(size * size);
  for (let k = 0; k < response.count; k++) {
    const t = response.time_s[k];
    const weight = response.length_s[k] / longRun;
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
  return lengthOf(response);
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
