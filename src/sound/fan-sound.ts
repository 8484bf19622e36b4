import type { Bench } from '../bench/bench.ts';
import { connected, groupedBy } from '../bench/grouped.ts';
import { normalCdf } from '../numerics/distributions.ts';
import { addScaled, dot, product } from '../numerics/matrix.ts';
import { studyOf } from '../study.ts';
import { collectNoise, type SoundReading } from './collect-noise.ts';
import { meteredLevel } from './energy-sum.ts';
import { PIVOT_lg, type SoundGivenScatter, type SoundScatter } from './level-against-speed.ts';
import {
  likelyScatters,
  type ScatterNode,
  type ScatterOfSound,
  summaryOfScatter,
  summaryOfSessions,
} from './likely-scatters.ts';
import { type MeterErrors, MeterSessions } from './meter-sessions.ts';
import { groupBySpeed, type SpeedGroup } from './sound-levels-by-speed.ts';

/** The own level of a cooler at one speed, and what the meter would show. */
export interface SoundAtSpeed {
  /** The cooler's own level, dBA: mean, and standard deviation in dB (meter's systematic error not included). */
  own_dBA: number;
  u_own_dB: number;
  /** The energy sum with the background, where one is known. */
  metered_dBA: number;
}

/** Sound of one cooler against the speed of its fan. */
export interface FanSoundLaw {
  cooler: string;
  /** The law `L = a + b·lg(fan_rpm)` of the own level: `a` is its level at 1 rpm, far outside the speeds that exist. */
  a_dBA: number;
  b_dB_per_decade: number;
  /** Variances and covariance of (a, b), dB². a and b are nearly opposite; use `soundAtSpeed` rather than a alone. */
  variance: { aa: number; ab: number; bb: number };
  /** Bumps about the law and repeatability of one reading, dB, and how many degrees of freedom know them. */
  bump_dB: number;
  reading_dB: number;
  residualStandardDeviation_dB: number;
  degreesOfFreedom: number;
  background_dBA?: number;
  /** The meter's own standard uncertainty, shared by every reading of a session: no part of a comparison within one. */
  systematic_dB: number;
  lowestSpeed_rpm: number;
  greatestSpeed_rpm: number;
  readings: number;
  samples: number;
  notes: string[];
  /** The answer for each set of scatters that the bench leaves likely, with its weight (they add to 1). */
  mixture: { weight: number; given: SoundGivenScatter }[];
  /** What the meter of each session reads too high, where there are several: taken off the readings. */
  meter?: MeterErrors;
}

export interface FanSoundFit {
  laws: Map<string, FanSoundLaw>;
  /** Coolers without a law, and why. */
  unheard: Map<string, string>;
  /** Pooled over the bench's coolers; `sample_dB` only where one cooler was metered on two samples or more, `session_dB` with several sessions. */
  scatter?: {
    bump_dB: ScatterOfSound;
    reading_dB: ScatterOfSound;
    sample_dB?: ScatterOfSound;
    session_dB?: ScatterOfSound;
  };
  warnings: string[];
}

export interface FanSoundOptions {
  /** Metered level with every fan off, at the same place. */
  background_dBA?: number;
  /** Standard uncertainty of the meter, shared by all readings of a session. Default 1 dB. */
  systematic_dB?: number;
  /** How much specimens of one cooler scatter, dB, where no cooler was metered on two. */
  sample_dB?: number;
}

/**
 * The law of fan sound for every cooler of a bench, fitted forward through the energy sum with the background.
 *
 * Broadband fan sound rises as a power of speed, about the fifth, so its level is straight in lg(n) with a slope near
 * 50 dB a decade: that is the prior on b, and a cooler with one reading leans on it. Real fans depart from the line:
 * tones and resonances lift the level over some span of speeds by a decibel or two. Repeating a reading there does not
 * average such a bump away, since all readings at one speed share it. So three scatters are kept apart: bumps, as a
 * Gaussian process along lg(n); specimens, as a shift of the whole line; and the repeatability of a reading. Readings of
 * several sessions have the errors of the meter in each besides, the same for all coolers metered then. Their sizes
 * are pooled over the coolers, and what remains unknown of them is carried along: the answer is a mixture over the
 * sizes that the readings leave likely, so few readings give long tails and no false precision.
 *
 * @param readings  readings by cooler, as `collectNoise` gives them; coolers with none are answered in `unheard`
 * @param options   background and uncertainty of the meter
 * @throws RangeError if a speed is not positive or a level is not finite
 * @example fitFanSound(new Map([['Heron', readings]]), { background_dBA: 26 }).laws.get('Heron')?.b_dB_per_decade // ≈ 50
 */
export function fitFanSound(
  readings: ReadonlyMap<string, readonly SoundReading[]>,
  options: FanSoundOptions = {},
): FanSoundFit {
  const { background_dBA, systematic_dB = 1, sample_dB } = options;
  const names = [...new Set([...readings.values()].flat().map(({ session = '' }) => session))];
  const unheard = new Map<string, string>();
  const metered: MeteredCooler[] = [];
  for (const [cooler, list] of readings) {
    for (const reading of list) refuseUnreadable(reading);
    if (list.length > 0)
      metered.push({ cooler, readings: list, groups: groupBySpeed(list, background_dBA, names) });
    else
      unheard.set(
        cooler,
        `${cooler} has no sound reading: neither a row of noise.csv nor a run with sound_dBA`,
      );
  }
  const laws = new Map<string, FanSoundLaw>();
  if (metered.length === 0) return { laws, unheard, warnings: [] };
  const severalSamples = metered.some(({ groups }) => groups.some((g) => g.sample > 0));
  const sessions =
    names.length > 1 && systematic_dB > 0 ? new MeterSessions(names, systematic_dB) : undefined;
  const { nodes, meter } = likelyScatters(
    metered.map(({ groups }) => groups),
    background_dBA,
    severalSamples ? 'unknown' : (sample_dB ?? 0),
    sessions,
  );
  const summary = (of: (s: SoundScatter) => number): ScatterOfSound => summaryOfScatter(nodes, of);
  const scatter = {
    bump_dB: summary((s) => s.bump_dB),
    reading_dB: summary((s) => s.reading_dB),
    ...(severalSamples && { sample_dB: summary((s) => s.sample_dB) }),
    ...(sessions && { session_dB: summaryOfSessions(nodes) }),
  };
  const common = {
    bump_dB: scatter.bump_dB.value,
    reading_dB: scatter.reading_dB.value,
    ...residualOf(nodes),
    ...(background_dBA !== undefined && { background_dBA }),
    systematic_dB,
    ...(meter && { meter }),
  };
  metered.forEach((one, index) => {
    const mixture = nodes.map(({ weight, given }) => ({ weight, given: given[index] }));
    laws.set(one.cooler, { ...lawOf(one, mixture, background_dBA), ...common });
  });
  const warnings = [
    ...(background_dBA === undefined ? [NO_BACKGROUND] : []),
    ...metered.flatMap((one) => contradictions(one.cooler, one.readings, background_dBA)),
    ...(!severalSamples && sample_dB === undefined ? [ONE_SAMPLE] : []),
    ...(sessions ? untied(metered, names, systematic_dB) : []),
  ];
  return { laws, unheard, scatter, warnings };
}

/** Bumps and repeatability together: standard deviation, and the degrees of freedom by the spread of its logarithm over the nodes. */
function residualOf(nodes: readonly ScatterNode[]) {
  const over = (of: (variance: number) => number): number =>
    nodes.reduce((sum, { weight, scatter: s }) => sum + weight * of(s.bump_dB ** 2 + s.reading_dB ** 2), 0);
  const meanLog = over(Math.log);
  const logVariance = over((variance) => (Math.log(variance) - meanLog) ** 2);
  return {
    residualStandardDeviation_dB: Math.sqrt(over((variance) => variance)),
    degreesOfFreedom: 2 / Math.max(logVariance, 1e-6),
  };
}

interface MeteredCooler {
  readonly cooler: string;
  readonly readings: readonly SoundReading[];
  readonly groups: SpeedGroup[];
}

const NO_BACKGROUND =
  'bench.yaml gives no instruments.sound_level.background_dBA: readings are taken as the coolers’ own levels, which makes quiet ones too loud and the law too flat';
const ONE_SAMPLE =
  'sound was metered on one sample of each cooler: how much another specimen differs is not known; meter a second, or state it as sample_dB under instruments: sound_level: in bench.yaml';

function refuseUnreadable({ fan_rpm, sound_dBA, file, line }: SoundReading): void {
  if (fan_rpm > 0 && Number.isFinite(fan_rpm) && Number.isFinite(sound_dBA)) return;
  throw new RangeError(
    `${file}:${line}: ${sound_dBA} dBA at ${fan_rpm} rpm; a finite level at a positive speed is accepted`,
  );
}

/** The law of one cooler: mean and covariance over the likely scatters, moved from the pivot speed to 1 rpm. */
function lawOf(
  { cooler, readings, groups }: MeteredCooler,
  mixture: FanSoundLaw['mixture'],
  background_dBA: number | undefined,
) {
  const lines = mixture.map(({ weight, given }) => ({ weight, ...given.law() }));
  const mean = (of: (l: (typeof lines)[0]) => number): number =>
    lines.reduce((sum, line) => sum + line.weight * of(line), 0);
  const level = mean((l) => l.level_dBA);
  const slope = mean((l) => l.slope_dB);
  const levelVariance = mean((l) => l.levelVariance + (l.level_dBA - level) ** 2);
  const slopeVariance = mean((l) => l.slopeVariance + (l.slope_dB - slope) ** 2);
  const covariance = mean((l) => l.covariance + (l.level_dBA - level) * (l.slope_dB - slope));
  const speeds = readings.map((r) => r.fan_rpm);
  const notes: string[] = [];
  if (background_dBA !== undefined && readings.every((r) => r.sound_dBA < background_dBA + 3)) {
    notes.push(
      `every sound reading of ${cooler} is within 3 dB of the background; its law is mostly that of fans in general`,
    );
  } else if (new Set(groups.map((g) => g.lgSpeed.toFixed(2))).size === 1) {
    notes.push(
      `${cooler} was metered at one speed: how its sound rises with speed is taken from fans in general`,
    );
  }
  return {
    cooler,
    a_dBA: level - slope * PIVOT_lg,
    b_dB_per_decade: slope,
    variance: {
      aa: levelVariance - 2 * PIVOT_lg * covariance + PIVOT_lg ** 2 * slopeVariance,
      ab: covariance - PIVOT_lg * slopeVariance,
      bb: slopeVariance,
    },
    lowestSpeed_rpm: Math.min(...speeds),
    greatestSpeed_rpm: Math.max(...speeds),
    readings: readings.length,
    samples: new Set(readings.map((r) => r.sample)).size,
    notes,
    mixture,
  };
}

/** `fitFanSound` on all that a bench holds: noise.csv, the runs that carry `sound_dBA`, and its meter. */
export function fanSoundOfBench(bench: Bench): FanSoundFit {
  const { readings, warnings } = collectNoise(bench);
  const { systematic_dB, sample_dB, background_dBA } = bench.instruments.sound_level;
  const fit = fitFanSound(readings, {
    systematic_dB,
    ...(sample_dB !== undefined && { sample_dB }),
    ...(background_dBA !== undefined && { background_dBA }),
  });
  return { ...fit, warnings: [...warnings, ...fit.warnings] };
}

/** The own level at one speed as a mixture of normal distributions, one for each likely set of scatters. */
export interface SoundMixture {
  readonly weight: Float64Array;
  readonly mean_dBA: Float64Array;
  readonly deviation_dB: Float64Array;
}

/**
 * The own level of a cooler at a speed as a distribution, bumps included and the mean over specimens.
 *
 * @throws RangeError if the speed is not positive
 */
export function soundMixtureAt(law: FanSoundLaw, fan_rpm: number): SoundMixture {
  if (!(fan_rpm > 0) || !Number.isFinite(fan_rpm)) {
    throw new RangeError(`${law.cooler}: ${fan_rpm} rpm; a positive fan speed is accepted`);
  }
  const weight = studyOf(law).once('weights', () => Float64Array.from(law.mixture, (part) => part.weight));
  const lgSpeed = Math.log10(fan_rpm);
  const mean_dBA = new Float64Array(weight.length);
  const deviation_dB = new Float64Array(weight.length);
  law.mixture.forEach(({ given }, k) => {
    const at = given.at(lgSpeed);
    mean_dBA[k] = at.mean_dBA;
    deviation_dB[k] = Math.sqrt(Math.max(at.variance_dB2, 1e-12));
  });
  return { weight, mean_dBA, deviation_dB };
}

/** What each independent part of the meter's errors does to a cooler's own level at a speed, dB a standard deviation. */
export function meterSlopes(law: FanSoundLaw, fan_rpm: number): Float64Array {
  if (!law.meter) return new Float64Array(0);
  const { root, sessions } = law.meter;
  const slopes = new Float64Array(sessions.length);
  for (const { weight, given } of law.mixture) {
    addScaled(slopes, given.bySession(Math.log10(fan_rpm), sessions.length), weight);
  }
  return product(slopes, root, 1, sessions.length, sessions.length - 1);
}

/** The mixture with what is not known of the meter's errors in it. */
export function withMeterErrors(mixture: SoundMixture, slopes: Float64Array): SoundMixture {
  if (slopes.length === 0) return mixture;
  const extra = dot(slopes, slopes);
  return { ...mixture, deviation_dB: mixture.deviation_dB.map((d) => Math.sqrt(d * d + extra)) };
}

/** Mean own level, dBA. */
export function meanOfMixture({ weight, mean_dBA }: SoundMixture): number {
  let sum = 0;
  for (let k = 0; k < weight.length; k++) sum += weight[k] * mean_dBA[k];
  return sum;
}

/** Probability that the own level is above `own_dBA`. */
export function probabilityLouder({ weight, mean_dBA, deviation_dB }: SoundMixture, own_dBA: number): number {
  let sum = 0;
  for (let k = 0; k < weight.length; k++) {
    sum += weight[k] * normalCdf((mean_dBA[k] - own_dBA) / deviation_dB[k]);
  }
  return sum;
}

/**
 * Sound of a cooler at a speed: its own level with the standard deviation of what is not known, and the metered level.
 *
 * @param law      of `fitFanSound`
 * @param fan_rpm  positive
 * @throws RangeError if the speed is not positive
 */
export function soundAtSpeed(law: FanSoundLaw, fan_rpm: number): SoundAtSpeed {
  const mixture = withMeterErrors(soundMixtureAt(law, fan_rpm), meterSlopes(law, fan_rpm));
  const own_dBA = meanOfMixture(mixture);
  let variance = 0;
  for (let k = 0; k < mixture.weight.length; k++) {
    variance += mixture.weight[k] * (mixture.deviation_dB[k] ** 2 + (mixture.mean_dBA[k] - own_dBA) ** 2);
  }
  return {
    own_dBA,
    u_own_dB: Math.sqrt(variance),
    metered_dBA: meteredLevel(own_dBA, law.background_dBA),
  };
}

/** A warning where no cooler ties some sessions to the others. */
function untied(
  metered: readonly MeteredCooler[],
  names: readonly string[],
  systematic_dB: number,
): string[] {
  const islands = connected(metered.map(({ groups }) => groups.map(({ session }) => session)));
  if (islands.length < 2) return [];
  const list = islands
    .map((island) => island.map((k) => names[k] || 'without a name').join(', '))
    .join(' | ');
  const apart_dB = Number((Math.SQRT2 * systematic_dB).toPrecision(2));
  return [
    `no cooler was metered in two of these sessions: ${list}; sound levels across them are known no better than two calibrations of the meter agree, ${apart_dB} dB (standard uncertainty); meter one cooler in all of them`,
  ];
}

/** Further below the background, or apart at one speed, a reading is no scatter of the meter (an assumption). */
const BELOW_dB = 1;
const APART_dB = 6;

/** Readings that contradict the background or each other; the law is fitted to them all the same. */
function contradictions(
  cooler: string,
  readings: readonly SoundReading[],
  background_dBA: number | undefined,
): string[] {
  const out = readings
    .filter(({ sound_dBA }) => background_dBA !== undefined && sound_dBA < background_dBA - BELOW_dB)
    .map(
      ({ file, line, sound_dBA, fan_rpm }) =>
        `${file}:${line}: ${cooler} at ${fan_rpm} rpm reads ${sound_dBA} dBA, below the background of ${background_dBA} dBA, which no cooler can; the room was quieter then, or a number is mistyped`,
    );
  const bySpeed = groupedBy(readings, ({ sample, fan_rpm, pump_rpm }) =>
    JSON.stringify([sample, fan_rpm, pump_rpm]),
  );
  for (const list of bySpeed.values()) {
    const [quiet] = [...list].sort((a, b) => a.sound_dBA - b.sound_dBA);
    const loud = list.reduce((a, b) => (b.sound_dBA > a.sound_dBA ? b : a));
    if (loud.sound_dBA - quiet.sound_dBA <= APART_dB) continue;
    out.push(
      `${loud.file}:${loud.line}: ${cooler} at ${loud.fan_rpm} rpm reads ${loud.sound_dBA} dBA here and ${quiet.sound_dBA} dBA in ${quiet.file}:${quiet.line}; one of them is not a reading of that fan`,
    );
  }
  return out;
}
