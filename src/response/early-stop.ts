import type { Readings } from '../logs/readings.ts';
import { type Asymptote, asymptoteOf } from './asymptote.ts';
import type { ExponentialFit } from './exponential-fit.ts';
import { varianceOfMean } from './noise.ts';
import { lengthOf, type Response, responseUntil } from './response.ts';

/**
 * A run is looked at some times, a tenth later each time, and may be stopped when two looks in a row find its 95 % half-width below this
 * share of what is wanted: the first time that it looks so is a lucky one.
 */
const caution = 0.9;
const pace = 1.1;
const looksInARow = 2;
const firstLook_s = 40;
/** Over so long a mean tells what the noise does to a rise. */
const someMinutes_s = 600;
/** With the doubt about the number of elements a run is known so much later than the linearised fit of the finished log says (chosen). */
const expected = 1.2;

/**
 * Whether a run may be stopped, look by look: what `watch` asks while the log is written, and {@link earlyStop} of a finished one. Nothing
 * from after a look goes into it.
 *
 * @example
 * const rule = new StopRule(0.3);
 * [rule.look({ halfWidth_K: 0.25 }), rule.look({ halfWidth_K: 0.24 })] // [false, true]
 */
export class StopRule {
  /** When to look next, s after the load step. */
  next_s = firstLook_s;
  /** Half-width that a look has to find, K. */
  readonly wanted_K: number;
  private sure = 0;

  constructor(limit_K: number) {
    this.wanted_K = caution * limit_K;
  }

  /** Takes what the log tells at `next_s`. */
  look(asymptote: Pick<Asymptote, 'halfWidth_K'> | undefined): boolean {
    this.sure = asymptote && asymptote.halfWidth_K <= this.wanted_K ? this.sure + 1 : 0;
    this.next_s *= pace;
    return this.sure >= looksInARow;
  }

  /** Leaves out the looks before a time. */
  skipTo(time_s: number): void {
    while (this.next_s * pace < time_s) this.next_s *= pace;
  }

  /** When the run may be stopped if it is known well enough from a time on, s. */
  stopFor(known_s: number): number {
    let time = this.next_s;
    for (let more = looksInARow - this.sure - 1; time < known_s || more > 0; time *= pace)
      if (time >= known_s) more--;
    return time;
  }
}

/**
 * The time at which a finished run might have been stopped by {@link StopRule}, from nothing but the rows up to then and what the
 * bench's logs tell of noise and air. A look that finds the rise known is nearly always followed by such looks, so the search begins
 * where the finished log lets one expect the first of them, goes back as long as the rise is known, and then on to the second in a row.
 *
 * @returns seconds after the step; the whole length where it is known at its end only; `undefined` when it is not known then
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
  const { wanted_K } = new StopRule(limit_K);
  const isKnown = (look: number) => {
    const options = { enough_K: wanted_K, drift };
    const early = asymptoteOf(fit, responseUntil(response, timeOf(look)), readings, options);
    return early !== undefined && early.halfWidth_K <= wanted_K;
  };
  const forecast = halfWidthsBy(response, readings, finished, total).find(({ half_K }) => half_K <= wanted_K);
  const first = lookAfter(12 * response.interval_s);
  const last = lookAfter(total) - 1;
  const begin = Math.min(last, Math.max(first, lookAfter(expected * (forecast?.time_s ?? total))));
  let sure = 0;
  let look = begin;
  for (; look >= first && isKnown(look); look--) sure++;
  if (sure >= looksInARow) return timeOf(look + looksInARow);
  for (look = begin + 1; look <= last; look++) {
    sure = isKnown(look) ? sure + 1 : 0;
    if (sure >= looksInARow) return timeOf(look);
  }
  return total;
}

/** When a look is taken, s, and the first look that is not before a time. */
const timeOf = (look: number): number => firstLook_s * pace ** look;
const lookAfter = (time_s: number): number =>
  Math.max(0, Math.ceil(Math.log(time_s / firstLook_s) / Math.log(pace)));

/**
 * When a run that goes on as it does may be stopped, s after its step; `undefined`: not by `until_s`.
 *
 * The half-width is expected to shrink from what it is as that of the linearised fit does.
 */
export function stopForeseen(
  rule: StopRule,
  response: Response,
  readings: Readings,
  asymptote: Asymptote,
  until_s: number,
): number | undefined {
  const now = lengthOf(response);
  const widths = halfWidthsBy(response, readings, asymptote, until_s);
  const present = widths.findLast(({ time_s }) => time_s <= now);
  if (!present) return undefined;
  const wanted = (rule.wanted_K * present.half_K) / asymptote.halfWidth_K;
  const known = widths.find(({ time_s, half_K }) => time_s >= present.time_s && half_K <= wanted);
  return known && rule.stopFor(known.time_s);
}

/** 95 % half-width of the linearised fit with all time constants free, K, at times of the response and beyond its end. */
function halfWidthsBy(
  response: Response,
  { noises }: Readings,
  { timeConstants_s: taus, amplitudes_K: amplitudes }: Asymptote,
  until_s: number,
): { time_s: number; half_K: number }[] {
  const terms = taus.length;
  const size = 1 + 2 * terms;
  const normal = new Float64Array(size * size);
  for (let i = 1; i < size; i++) normal[i * size + i] = i <= terms ? 1e-3 : 0.25;
  const row = new Float64Array(size);
  const longRun = someMinutes_s * varianceOfMean(noises[0].noise, someMinutes_s);
  const work = new Float64Array(size * size);
  const out: { time_s: number; half_K: number }[] = [];
  const end = lengthOf(response);
  for (let k = 0, t = 0; k < response.count || t < until_s; k++) {
    const isLogged = k < response.count;
    const length = isLogged ? response.length_s[k] : Math.max(15, 0.02 * t);
    t = isLogged ? response.time_s[k] : Math.max(t, end) + length;
    row[0] = 1;
    for (let i = 0; i < terms; i++) {
      const e = Math.exp(-t / taus[i]);
      row[1 + i] = e;
      row[1 + terms + i] = (amplitudes[i] * e * t) / taus[i];
    }
    const weight = length / longRun;
    for (let i = 0; i < size; i++)
      for (let j = 0; j < size; j++) normal[i * size + j] += weight * row[i] * row[j];
    if (k < 4 || (isLogged && k % 2 === 1 && k + 1 < response.count)) continue;
    work.set(normal);
    out.push({ time_s: t, half_K: 1.96 * Math.sqrt(cornerOfInverse(work, size)) });
  }
  return out;
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
