import { softmax } from '../numerics/log-weights.ts';
import { cholesky, logDeterminant } from '../numerics/matrix.ts';
import { type AirLaw, AirSeen, airLaws, type Network } from '../response/air-laws.ts';
import { dot, ExponentialFit, type ExponentialMode, exponentialMeans } from '../response/exponential-fit.ts';
import {
  filtered,
  type Noise,
  scaled,
  slopeOf,
  varianceOfMean,
  varianceOfParts,
  Whitening,
  walk,
} from '../response/noise.ts';
import { type Joined, joined, lengthOf, meansOver, type Response } from '../response/response.ts';

/**
 * What the logs of a bench tell together of how it reads: the noise of the source and how the source follows the air. Both belong to the
 * bench, not to a run, and short logs cannot tell either.
 */
export interface Readings {
  /** Noises that the logs allow, with their probabilities; the likeliest first. */
  readonly noises: readonly { readonly noise: Noise; readonly weight: number }[];
  /** Degrees of freedom with which the size of the noise of one log is known from the others. */
  readonly freedom: number;
  /** Laws that the logs allow, with their probabilities; the likeliest first. */
  readonly laws: readonly { readonly law: AirLaw; readonly weight: number }[];
  /** Load steps that were learnt from, and the length of the longest, s. */
  readonly steps: number;
  readonly longest_s: number;
  /** Whether the logs have told it, or the belief before them still counts. */
  readonly noiseIsMeasured: boolean;
  readonly airIsMeasured: boolean;
}

/** The longest steps tell most of slow noise; more than these add little and cost time. */
const mostSteps = 20;

/** Belief about noise before any log: how long it remembers, and its size beside the white part's in a mean over 20 s (an assumption). */
const memories_s = [20, 50, 120, 300, 800, 2500];
const sizes = [0.03, 0.1, 0.3, 1, 3, 10, 30, 100];
const withoutMemory = 0.1;
const withWalk = 0.15;
const someMinutes_s = 600;
/** A sensor with a lag leaves little that is white: sizes beside it, lags, and the belief in such a sensor. */
const filteredSizes = [30, 300, 3000];
const filters_s = [8, 25, 70];
const filteredMemories_s = memories_s.filter((memory_s) => memory_s > 100);
const withFilter = 0.2;

interface Shape {
  readonly noise: Noise;
  readonly prior: number;
}

const remembering = (...parts: (readonly [size: number, memory_s: number])[]): Noise => ({
  white: 1,
  parts: parts.map(([size, memory_s]) => ({ variance: size / 20, memory_s })),
});

/** Noise read through a lag: of `size` in a mean over 20 s, with a share on top that is white ahead of the sensor. */
const smooth = (size: number, memory_s: number, filter_s: number, ahead: number): Noise =>
  filtered(1, size / 20, memory_s, filter_s, (ahead * size) / 20);

const evenly = (noises: readonly Noise[], prior: number): Shape[] =>
  noises.map((noise) => ({ noise, prior: prior / noises.length }));

/** Beside white noise a random walk whose variance grows by so much a second. */
const walking = (slope: number): Noise => ({ white: 1, parts: [walk(slope)] });

/** Noise of unit white part: white alone, or with one part that forgets. */
const plainShapes = (memories: readonly number[], of: readonly number[], prior: number): Shape[] => [
  { noise: remembering(), prior: prior * withoutMemory },
  ...evenly(
    memories.flatMap((memory_s) => of.map((size) => remembering([size, memory_s]))),
    prior * (1 - withoutMemory),
  ),
];

const shapes = plainShapes(memories_s, sizes, 1);

/** What it takes several logs to tell as well: a memory as short as a block, a random walk, and a sensor with a lag. */
const shapesOfSeveral: readonly Shape[] = [
  ...plainShapes([8, ...memories_s], [...sizes, 300], 1 - withFilter - withWalk),
  ...evenly(
    sizes.map((size) => walking(size / 20 / someMinutes_s)),
    withWalk,
  ),
  ...evenly(
    filteredMemories_s.flatMap((memory_s) =>
      filters_s.flatMap((filter_s) =>
        filteredSizes.flatMap((size) => [0, 0.2].map((ahead) => smooth(size, memory_s, filter_s, ahead))),
      ),
    ),
    withFilter,
  ),
];

const factors = [0.35, 0.6, 1, 1.7, 2.8];
const walksAbout = (slope: number) => factors.map((f) => walking(f * slope));

/** Shapes between and beside those about one of them: finer, and with a second part that forgets in another time. */
function shapesAbout(noise: Noise): Shape[] {
  const [part, lag] = noise.parts;
  if (!part) return [];
  if (part.fromStep) {
    const slope = slopeOf(part);
    const forgetting = [800, 1600, 3200].flatMap((memory_s) =>
      factors.map((f) => remembering([10 * f * slope * memory_s, memory_s])),
    );
    return [...evenly(walksAbout(slope), 0.6), ...evenly(forgetting, 0.4)];
  }
  const size = 20 * varianceOfParts(noise);
  const { memory_s } = part;
  if (noise.covariance !== undefined) {
    const filter_s = lag.memory_s;
    const about = [0.5, 0.7, 1, 1.4, 2].flatMap((m) =>
      [0.35, 1, 2.8].flatMap((f) =>
        [0.6, 1, 1.7]
          .filter((l) => l * filter_s < 0.9 * m * memory_s)
          .flatMap((l) => [0, 0.1, 0.4].map((ahead) => smooth(size * f, m * memory_s, l * filter_s, ahead))),
      ),
    );
    return evenly(about, 1);
  }
  const finer = [0.5, 0.7, 1, 1.4, 2].flatMap((m) =>
    factors.map((f) => remembering([size * f, memory_s * m])),
  );
  const second = memories_s
    .filter((other) => other > 2.9 * memory_s || memory_s > 2.9 * other)
    .flatMap((other) => [0.1, 0.4, 1.5].map((f) => remembering([0.8 * size, memory_s], [size * f, other])));
  const walks = memory_s < 400 ? [] : walksAbout(0.6 * slopeOf(part));
  return [...evenly(finer, 0.5), ...evenly(second, 0.2), ...evenly(walks, 0.3)];
}

/** How much the sizes of the noise of single logs scatter: degrees of freedom of that scatter (an assumption). */
const freedoms = [4, 10, 30, 100];

/** What one step tells of a noise: its residual about the response with the freedom of the response taken out. */
interface Told {
  readonly logDeterminants: number;
  readonly square: number;
  readonly freedom: number;
}

/** Noise with which a first look begins; its size is of no account there. */
const firstLook: Noise = { white: 1, parts: [{ variance: 0.1, memory_s: 100 }] };

/**
 * Learns noise and air law from the load steps of a bench, the longest ones first.
 *
 * Each step is fitted with up to four exponentials; the noise is judged by the likelihood of what is left, with the freedom that rise,
 * amplitudes and time constants have taken put back (restricted likelihood), pooled over the steps, each of which has a size of noise of
 * its own that scatters about the bench's. The law is the one that leaves least over all of them. One look decides the law with a
 * guessed noise, a second one both.
 *
 * Source of the restricted likelihood: Patterson and Thompson (1971), Biometrika 58, 545–554, from memory.
 */
export function learnReadings(responses: readonly Response[]): Readings {
  const long = responses
    .filter(({ count }) => count >= 12)
    .sort((a, b) => lengthOf(b) - lengthOf(a))
    .slice(0, mostSteps);
  const longest_s = long.length > 0 ? lengthOf(long[0]) : 0;
  const span_s = Math.max(someMinutes_s, longest_s);
  let laws: readonly { law: AirLaw; weight: number }[] = airLaws.map(({ law, prior }) => ({
    law,
    weight: prior,
  }));
  let noise = firstLook;
  let noises: { noise: Noise; weight: number }[] = [];
  let freedom = 4;
  if (long.length > 0) {
    const fit = new ExponentialFit();
    const looks = long.map((response) => new Look(response));
    // Logs of one length and spacing share what whitens them.
    const likes = looks.map(({ blocks }) => looks.findIndex((other) => areAlike(other.blocks, blocks)));
    const tell = (from: readonly Shape[]) =>
      noisesAfter(
        from,
        from.map(({ noise: one }) => {
          const whites: Whitening[] = [];
          return looks.map((look, i) => {
            whites[i] = whites[likes[i]] ?? new Whitening(look.blocks, one);
            return look.tell(whites[i]);
          });
        }),
        span_s,
      );
    const look = () => {
      for (const one of looks) one.fit(fit, noise, laws[0].law);
      laws = lawsAfter(fit, looks, noise, laws[0].law);
      for (const one of looks) one.use(laws[0].law);
    };
    look();
    const areSeveral = long.length > 3;
    let found = tell(areSeveral ? shapesOfSeveral : shapes);
    noise = found.noises[0].noise;
    look();
    const unit = scaled(noise, 1 / noise.white);
    found = tell(areSeveral && unit.parts.length > 0 ? shapesAbout(unit) : shapes);
    ({ noises, freedom } = found);
  }
  return {
    noises,
    freedom,
    laws,
    steps: long.length,
    longest_s,
    noiseIsMeasured: doubtOf(noises, someMinutes_s) < measuredDoubt,
    airIsMeasured: laws[0].weight > 0.8,
  };
}

/** Noise counts as measured when its standard deviation over some minutes is known within so much, as a logarithm (an assumption). */
const measuredDoubt = 0.25;

/** How far the noises that are likely differ: standard deviation of the log uncertainty of a mean over so long. */
function doubtOf(noises: readonly { noise: Noise; weight: number }[], span_s: number): number {
  let mean = 0;
  let square = 0;
  for (const { noise, weight } of noises) {
    const size = 0.5 * Math.log(varianceOfMean(noise, span_s));
    mean += weight * size;
    square += weight * size * size;
  }
  return noises.length === 0 ? Infinity : Math.sqrt(Math.max(0, square - mean * mean));
}

/** Whether blocks lie at the same times, within a hundredth of their length. */
const areAlike = (a: Joined, b: Joined): boolean =>
  a.count === b.count &&
  a.time_s.every(
    (time_s, k) =>
      Math.abs(time_s - b.time_s[k]) <= 0.01 * a.length_s[k] &&
      Math.abs(a.length_s[k] - b.length_s[k]) <= 0.01 * a.length_s[k],
  );

/** One load step while noise and law are learnt. */
class Look {
  readonly response: Response;
  readonly blocks: Joined;
  private readonly source: Float64Array;
  network: Network = { terms: 0, taus: [], amplitudes: [] };
  mode: ExponentialMode | undefined;
  /** Design columns of the linearised response and, last, what is to be described. */
  private columns: Float64Array[] = [];
  private readonly whitened: Float64Array[] = [];

  constructor(response: Response) {
    this.response = response;
    this.blocks = joined(response, 0.2, 90);
    this.source = meansOver(this.blocks, response.rows, response.source_C);
  }

  /** Air by a law with the network found last. */
  airBy(law: AirLaw): Float64Array {
    const seen = new AirSeen(law, this.response, this.blocks);
    if (seen.isCoupled) seen.follow(this.network);
    return seen.air_C;
  }

  load(fit: ExponentialFit, noise: Noise, law: AirLaw): void {
    const { blocks, response, source } = this;
    const air = new AirSeen(law, response, blocks);
    fit.load(blocks, new Whitening(blocks, noise), source, air, 1, 3 * lengthOf(blocks));
  }

  /** The best two to four exponentials over air by a law. */
  fit(fit: ExponentialFit, noise: Noise, law: AirLaw): void {
    const { count } = this.blocks;
    this.load(fit, noise, law);
    const starts = fit.starts(2 * lengthOf(this.blocks));
    const two = fit.refine(starts[1], 2, 0, 40);
    const three = count > 16 ? fit.refine(starts[2], 3, 0, 60) : undefined;
    const clearly = two && three && three.chiSquare < two.chiSquare * (1 - 8 / count);
    this.mode = clearly || !two ? three : two;
    if (clearly && count > 30) {
      // A loop may have an intermediate constant beside its slowest.
      const [a, b, c] = three.logTaus;
      const four = fit.refine(Float64Array.of(a, b, c - 0.7, c + 0.3), 4, 0, 60);
      if (four && four.chiSquare < three.chiSquare * (1 - 8 / count)) this.mode = four;
    }
    if (this.mode) this.network = networkOf(this.mode);
  }

  /** Prepares {@link tell} with air by a law. */
  use(law: AirLaw): void {
    const { blocks, network, source } = this;
    const { count, time_s } = blocks;
    const seen = new AirSeen(law, this.response, blocks);
    seen.follow(network);
    const end = source[count - 1] - seen.air_C[count - 1];
    const columns = [new Float64Array(count).fill(1)];
    for (let i = 0; i < network.terms; i++) {
      const column = new Float64Array(count);
      exponentialMeans(blocks, network.taus[i], column);
      const slope = column.map((value, k) => (network.amplitudes[i] * value * time_s[k]) / network.taus[i]);
      seen.addDrift(i, network, slope);
      columns.push(column, slope);
    }
    columns.push(source.map((value, k) => value - seen.air_C[k] - end));
    this.columns = columns;
  }

  /** What the step tells of a noise. */
  tell(white: Whitening): Told {
    const { blocks, columns, whitened } = this;
    const p = columns.length;
    const { count } = blocks;
    while (whitened.length < p) whitened.push(new Float64Array(count));
    // The Cholesky factor of all columns' inner products holds that of the design, and last what is left.
    const gram = new Float64Array(p * p);
    for (let i = 0; i < p; i++) {
      white.apply(columns[i], whitened[i]);
      for (let j = 0; j <= i; j++) gram[i * p + j] = dot(whitened[i], whitened[j], count);
      if (i > 0 && i < p - 1) gram[i * p + i] *= 1 + 1e-9;
    }
    if (!cholesky(gram, p)) return { logDeterminants: Infinity, square: Infinity, freedom: 1 };
    const last = gram[p * p - 1];
    return {
      logDeterminants: white.logDeterminant + logDeterminant(gram, p) - 2 * Math.log(last),
      square: last * last,
      freedom: blocks.count - p + 1,
    };
  }
}

/** Time constants and amplitudes of a mode. */
export const networkOf = ({ terms, logTaus, amplitudes_K }: ExponentialMode): Network => ({
  terms,
  taus: logTaus.map(Math.exp),
  amplitudes: amplitudes_K,
});

/** The laws after the logs: what each leaves under the noise, over all steps. */
function lawsAfter(
  fit: ExponentialFit,
  looks: readonly Look[],
  noise: Noise,
  held: AirLaw,
): { law: AirLaw; weight: number }[] {
  const logs = airLaws.map(({ prior }) => Math.log(prior));
  for (const look of looks) {
    const { mode, blocks } = look;
    if (!mode) continue;
    const freedom = Math.max(1, blocks.count - mode.size);
    look.load(fit, noise, held);
    const air = look.airBy(held);
    const changes = airLaws.map(({ law }) => {
      const other = look.airBy(law);
      return law === held
        ? 0
        : fit.moved(
            mode,
            air.map((value, k) => value - other[k]),
          ).chiSquare;
    });
    const best = Math.max(1e-12, mode.chiSquare + Math.min(...changes));
    // The size of the noise of one log is not known: its likelihood with that taken out.
    changes.forEach((change, i) => {
      logs[i] -= 0.5 * freedom * Math.log(Math.max(1e-12, mode.chiSquare + change) / best);
    });
  }
  const weights = softmax(logs);
  return airLaws
    .map(({ law }, i) => ({ law, weight: weights[i] }))
    .sort((a, b) => b.weight - a.weight)
    .filter(({ weight }, i) => i === 0 || weight > leastWeight);
}

/** Logarithms of the factors on the noise that are weighed. */
const scales = [-1.2, -0.8, -0.5, -0.25, 0, 0.25, 0.5, 0.8, 1.2];

/**
 * Noises after the logs. The variance of the noise of one log is the bench's over a χ² share of so many degrees of freedom; that number and the bench's size
 * are gone through on a grid.
 */
function noisesAfter(
  shapes: readonly Shape[],
  told: readonly (readonly Told[])[],
  span_s: number,
): {
  noises: { noise: Noise; weight: number }[];
  freedom: number;
} {
  const found: { noise: Noise; log: number; freedom: number }[] = [];
  told.forEach((steps, s) => {
    const usable = steps.filter(({ square }) => Number.isFinite(square));
    if (usable.length < steps.length) return;
    const typical = Math.exp(
      usable.reduce((sum, { square, freedom }) => sum + Math.log(Math.max(1e-14, square / freedom)), 0) /
        usable.length,
    );
    for (const freedom of freedoms) {
      for (const scale of scales) {
        const size = typical * Math.exp(scale);
        let log = Math.log(shapes[s].prior);
        for (const { logDeterminants, square, freedom: m } of steps) {
          log +=
            0.5 * (freedom * Math.log(freedom * size) - (freedom + m) * Math.log(freedom * size + square));
          log += halfLogGamma(freedom + m) - halfLogGamma(freedom) - 0.5 * logDeterminants;
        }
        found.push({ noise: scaled(shapes[s].noise, size), log, freedom });
      }
    }
  });
  const top = Math.max(...found.map(({ log }) => log));
  const kept = found
    .map(({ log, ...one }) => ({ ...one, weight: Math.exp(log - top) }))
    .filter(({ weight }) => weight > 1e-4);
  const total = kept.reduce((sum, { weight }) => sum + weight, 0);
  const alone = told[0].length < 3;
  const freedom = alone
    ? 4
    : Math.exp(kept.reduce((sum, one) => sum + (one.weight / total) * Math.log(one.freedom), 0));
  const noises = binned(kept, total, alone ? 6 : 4, span_s);
  const isOneEnough =
    doubtOf(noises, someMinutes_s) < 0.5 * measuredDoubt && doubtOf(noises, span_s) < 0.8 * measuredDoubt;
  return {
    noises: isOneEnough ? binned(kept, total, 1, span_s) : noises,
    freedom,
  };
}

/** A noise or law less likely is left out. */
const leastWeight = 0.01;

/** A few noises that stand for all: in order of what a mean over the longest log scatters by, the likeliest of each part. */
function binned(
  found: readonly { noise: Noise; weight: number }[],
  total: number,
  bins: number,
  span_s: number,
): { noise: Noise; weight: number }[] {
  const order = found
    .map(({ noise, weight }) => ({
      noise,
      weight: weight / total,
      size: varianceOfMean(noise, span_s),
    }))
    .sort((a, b) => a.size - b.size);
  const out: { noise: Noise; weight: number; most: number }[] = [];
  let before = 0;
  for (const { noise, weight } of order) {
    const bin = Math.min(bins - 1, Math.floor(bins * (before + 0.5 * weight)));
    before += weight;
    const held = out[bin];
    if (!held) out[bin] = { noise, weight, most: weight };
    else {
      held.weight += weight;
      if (weight > held.most) {
        held.most = weight;
        held.noise = noise;
      }
    }
  }
  return out
    .filter((one) => one?.weight > leastWeight)
    .map(({ noise, weight }) => ({ noise, weight }))
    .sort((a, b) => b.weight - a.weight);
}

/** Logarithm of the gamma function at half of so many degrees of freedom (Stirling's series; from 4 on to nine digits). */
function halfLogGamma(twice: number): number {
  let x = 0.5 * twice;
  let shift = 0;
  while (x < 7) shift -= Math.log(x++);
  return (
    shift + (x - 0.5) * Math.log(x) - x + 0.5 * Math.log(2 * Math.PI) + (1 - 1 / (30 * x * x)) / (12 * x)
  );
}

/** Readings as `reduce --json` prints them. */
export interface ReadingsSummary {
  /** Load steps that were learnt from, and the length of the longest. */
  steps: number;
  longest_s: number;
  noise: {
    /** Whether the logs have told it; else the belief before them still counts, and intervals are wide. */
    measured: boolean;
    /** Standard deviation of a mean over a minute, and over ten; of the part with memory: its size and the time in which it forgets. */
    minute_K: number;
    ten_minutes_K: number;
    slow_K: number;
    memory_s: number | null;
    /** What a random walk comes to in an hour; `null` where the noise is none. */
    walk_K: number | null;
  };
  air: {
    measured: boolean;
    /** Likeliest way in which the source follows the air, and its probability. */
    law: 'at once' | 'lag' | 'slowest element' | 'shares' | 'ladder';
    lag_s: number | null;
    probability: number;
  };
}

/** The likeliest noise and law, in figures. */
export function readingsInWords(readings: Readings): ReadingsSummary {
  const { noises, laws } = readings;
  const noise = noises[0]?.noise ?? { white: 0, parts: [] };
  const [{ law, weight }] = laws;
  const [part] = noise.parts;
  const isWalk = part?.fromStep === true;
  return {
    steps: readings.steps,
    longest_s: readings.longest_s,
    noise: {
      measured: readings.noiseIsMeasured,
      minute_K: Math.sqrt(varianceOfMean(noise, 60)),
      ten_minutes_K: Math.sqrt(varianceOfMean(noise, 600)),
      slow_K: isWalk ? 0 : Math.sqrt(varianceOfParts(noise)),
      memory_s: isWalk ? null : (part?.memory_s ?? null),
      walk_K: isWalk ? Math.sqrt(3600 * slopeOf(part)) : null,
    },
    air: {
      measured: readings.airIsMeasured,
      law:
        law === 0 ? 'at once' : typeof law === 'number' ? 'lag' : law === 'slowest' ? 'slowest element' : law,
      lag_s: typeof law === 'number' && law > 0 ? law : null,
      probability: weight,
    },
  };
}
