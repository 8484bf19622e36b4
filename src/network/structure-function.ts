import { cauerFromFoster } from './cauer.ts';
import type { FosterElement } from './foster.ts';

/** A transient thermal impedance: rise over load after a step of the load. */
export interface StepImpedance {
  /** Ascending, above 0. */
  readonly time_s: readonly number[];
  readonly impedance_K_per_W: readonly number[];
}

export interface StructureFunction {
  /** Sums from the source outwards: resistance passed and capacity met so far. */
  readonly resistance_K_per_W: number[];
  readonly capacity_J_per_K: number[];
  /** The time-constant spectrum it came from, as Foster lines. */
  readonly spectrum: FosterElement[];
  /** Nothing nearer to the source than this is resolved, K/W: it had risen before the first reading. */
  readonly unresolved_K_per_W: number;
  /** Two parts are told apart when their time constants differ by at least this factor. */
  readonly ratio: number;
  /** The limits in a sentence. */
  readonly limit: string;
}

export interface StructureOptions {
  /** Steady resistance from the fitted asymptote; without it the response is taken as complete. */
  readonly asymptote_K_per_W?: number;
  /** Rounds of the deconvolution; more rounds sharpen noise as well as steps. Default 1000. */
  readonly rounds?: number;
  /** Lines of the spectrum that go into the ladder. Default 18. */
  readonly lines?: number;
}

const spacing = 0.1;

/**
 * Cumulative structure function from a step response, by the method of JESD51-14 (2010, cited from memory): in logarithmic time z the derivative of the impedance is the spectrum of time constants
 * smeared with the fixed kernel `w(z) = exp(z − exp(z))`. Bayesian deconvolution takes the kernel off again and keeps
 * the spectrum positive; the spectrum as a Foster network becomes a Cauer ladder, and its running sums are the
 * structure function: flat where heat passes a resistance, steep where it fills a mass.
 *
 * The kernel is about a decade wide, so the deconvolution tells apart parts whose time constants differ two- to
 * fourfold at best, with readings of the usual noise. Readings every second show nothing of what happens in less:
 * lid, paste and base under the first second remain one lump. The sum of the resistances is as good as the asymptote.
 *
 * @param response  at least ten points over at least a decade
 * @throws RangeError for times or impedances that do not ascend or are too few
 */
export function structureFunction(
  response: StepImpedance,
  options: StructureOptions = {},
): StructureFunction {
  const { time_s } = response;
  const n = time_s.length;
  if (n < 10 || !(time_s[0] > 0) || time_s[n - 1] < 10 * time_s[0]) {
    throw new RangeError(
      `${n} points from ${time_s[0]} to ${time_s[n - 1]} s; at least 10 over at least a decade are needed, times above 0`,
    );
  }
  const from = Math.log(time_s[0]);
  const count = Math.floor((Math.log(time_s[n - 1]) - from) / spacing) + 1;
  const curve = resample(response, from, count);
  // Before the first reading the rise is taken as exponential with the first reading's own time constant or less.
  const lead = 30;
  const trail = 30;
  const size = lead + count + trail;
  const slope = new Float64Array(size);
  const first = curve[0];
  const early = Array.from(
    { length: lead + 1 },
    (_, i) => (first * (1 - Math.exp(-Math.exp((i - lead) * spacing)))) / (1 - Math.exp(-1)),
  );
  for (let i = 0; i < lead; i++) slope[i] = (early[i + 1] - early[i]) / spacing;
  for (let i = 0; i + 1 < count; i++) slope[lead + i] = Math.max(0, (curve[i + 1] - curve[i]) / spacing);
  const last = curve[count - 1];
  const whole = Math.max(last, options.asymptote_K_per_W ?? last);
  const tail = tailAfter(curve, from, whole, trail);
  for (let i = 0; i < trail; i++) slope[lead + count - 1 + i] = (tail[i + 1] - tail[i]) / spacing;
  const spectrum = deconvolve(slope, options.rounds ?? 1000);
  const lines = lump(spectrum, from - lead * spacing, options.lines ?? 18);
  const total = lines.reduce((sum, line) => sum + line.resistance_K_per_W, 0);
  const foster = lines.map((line) => ({
    ...line,
    resistance_K_per_W: (line.resistance_K_per_W * whole) / total,
  }));
  const resistance: number[] = [];
  const capacity: number[] = [];
  let r = 0;
  let c = 0;
  for (const rung of cauerFromFoster(foster)) {
    c += rung.capacity_J_per_K;
    r += rung.resistance_K_per_W;
    resistance.push(r);
    capacity.push(c);
  }
  const ratio = 3;
  return {
    resistance_K_per_W: resistance,
    capacity_J_per_K: capacity,
    spectrum: foster,
    unresolved_K_per_W: first,
    ratio,
    limit: `the first reading at ${Number(time_s[0].toPrecision(2))} s leaves the first ${first.toPrecision(2)} K/W from the source unresolved; parts are told apart when their time constants differ by a factor of about ${ratio}`,
  };
}

/** The rest of the way to the asymptote, at the rate at which the last half of the response approaches it. */
function tailAfter(curve: Float64Array, from: number, whole: number, count: number): Float64Array {
  const end = curve.length - 1;
  const out = new Float64Array(count + 1).fill(curve[end]);
  const half = end - Math.round(Math.LN2 / spacing);
  const left = whole - curve[end];
  const before = whole - curve[Math.max(0, half)];
  if (!(left > 1e-9 * whole && before > left)) return out;
  const time = Math.exp(from + end * spacing);
  const tau = (time - Math.exp(from + half * spacing)) / Math.log(before / left);
  for (let i = 1; i <= count; i++)
    out[i] = whole - left * Math.exp(-(time * Math.exp(i * spacing) - time) / tau);
  return out;
}

/** Values at equal steps of ln t: means over each step where there are several readings, lines between where none. */
function resample(response: StepImpedance, from: number, count: number): Float64Array {
  const { time_s, impedance_K_per_W } = response;
  const out = new Float64Array(count);
  let k = 0;
  for (let i = 0; i < count; i++) {
    const z = from + i * spacing;
    const low = Math.exp(z - spacing / 2);
    const high = Math.exp(z + spacing / 2);
    let sum = 0;
    let shift = 0;
    let inside = 0;
    while (k > 0 && time_s[k - 1] >= low) k--;
    while (k < time_s.length && time_s[k] < low) k++;
    for (let j = k; j < time_s.length && time_s[j] < high; j++) {
      sum += impedance_K_per_W[j];
      shift += Math.log(time_s[j]) - z;
      inside++;
    }
    if (inside > 2) out[i] = sum / inside;
    else out[i] = lineAt(response, Math.exp(z));
    if (inside > 2 && i > 0) out[i] -= (shift / inside) * ((out[i] - out[i - 1]) / spacing) * 0.5;
  }
  for (let i = 1; i < count; i++) out[i] = Math.max(out[i], out[i - 1]);
  return out;
}

function lineAt({ time_s, impedance_K_per_W }: StepImpedance, t: number): number {
  let j = time_s.findIndex((value) => value >= t);
  if (j < 0) j = time_s.length - 1;
  if (j === 0) return impedance_K_per_W[0];
  const share = (Math.log(t) - Math.log(time_s[j - 1])) / (Math.log(time_s[j]) - Math.log(time_s[j - 1]));
  return impedance_K_per_W[j - 1] + Math.min(1, share) * (impedance_K_per_W[j] - impedance_K_per_W[j - 1]);
}

/** Bayesian (Richardson–Lucy) deconvolution of the kernel, each interval's slope being the mean over its width. */
function deconvolve(slope: Float64Array, rounds: number): Float64Array {
  const n = slope.length;
  const reach = 60;
  const kernel = new Float64Array(2 * reach + 1);
  // Mean of w over an interval of slope that begins d steps after the line: an exact difference of exp(−exp(z)).
  for (let d = -reach; d <= reach; d++) {
    const z = d * spacing;
    kernel[d + reach] = Math.exp(-Math.exp(z)) - Math.exp(-Math.exp(z + spacing));
  }
  let estimate = new Float64Array(n).fill(slope.reduce((sum, value) => sum + value, 0) / n);
  const ratio = new Float64Array(n);
  for (let round = 0; round < rounds; round++) {
    for (let i = 0; i < n; i++) {
      let sum = 0;
      for (let j = Math.max(0, i - reach); j < Math.min(n, i + reach + 1); j++)
        sum += kernel[i - j + reach] * estimate[j];
      ratio[i] = sum > 1e-300 ? slope[i] / sum : 0;
    }
    const next = new Float64Array(n);
    for (let j = 0; j < n; j++) {
      let sum = 0;
      let norm = 0;
      for (let i = Math.max(0, j - reach); i < Math.min(n, j + reach + 1); i++) {
        sum += kernel[i - j + reach] * ratio[i];
        norm += kernel[i - j + reach];
      }
      next[j] = norm > 1e-12 ? (estimate[j] * sum) / norm : 0;
    }
    estimate = next;
  }
  return estimate;
}

/** Joins the spectrum's points into lines: neighbouring points up to an equal share of its length, at their centre. */
function lump(spectrum: Float64Array, from: number, lines: number): FosterElement[] {
  const top = spectrum.reduce((a, b) => Math.max(a, b), 0);
  const total = spectrum.reduce((a, b) => a + b, 0);
  const wide = Math.max(1, Math.ceil(spectrum.length / lines));
  const out: FosterElement[] = [];
  for (let i = 0; i < spectrum.length; ) {
    if (spectrum[i] < 1e-4 * top) {
      i++;
      continue;
    }
    let sum = 0;
    let centre = 0;
    const stop = Math.min(spectrum.length, i + wide);
    for (; i < stop && spectrum[i] >= 1e-4 * top; i++) {
      sum += spectrum[i];
      centre += spectrum[i] * (from + i * spacing);
    }
    if (sum > 1e-4 * total) out.push({ resistance_K_per_W: sum * spacing, time_s: Math.exp(centre / sum) });
  }
  return out;
}
