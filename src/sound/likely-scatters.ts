import { softmax } from '../numerics/log-weights.ts';
import {
  type SoundGivenScatter,
  type SoundScatter,
  type SoundWork,
  solveSound,
  soundAnswer,
  soundWork,
} from './level-against-speed.ts';
import type { MeterErrors, MeterGiven, MeterSessions } from './meter-sessions.ts';
import type { SpeedGroup } from './sound-levels-by-speed.ts';

export interface ScatterOfSound {
  value: number;
  low: number;
  high: number;
}

// Common practice, no source: a repeated level in a quiet room comes back within some tenths of a dB; bumps of fans on
// coolers are 0.5 to 2 dB; specimens of one fan differ by about half a dB.
const READING_PRIOR = { median_dB: 0.25, logStandardDeviation: 0.7 };
const SAMPLE_PRIOR = { median_dB: 0.5, logStandardDeviation: 0.8 };
const BUMP_PRIOR = { scale_dB: 1, smooth_share: 0.3, smooth_dB: [0.03, 0.3] };
/** While closing in only which sets are likely matters, and a step this small hardly moves their logarithm. */
const ROUGHLY_SETTLED_dB = 0.03;
const LEAST_LIKELY = Math.log(500);
const BUMP_REACHES_decades = [0.02, 0.05, 0.1, 0.2];

/** One set of scatters, how likely it is (weights add to 1), and each cooler's answer under it. */
export interface ScatterNode {
  scatter: SoundScatter;
  weight: number;
  given: SoundGivenScatter[];
  /** What it leaves likely of the meter's errors, where there are several sessions. */
  meter?: MeterGiven;
}

/**
 * The scatters of fan sound that a bench's readings leave likely, each with its weight.
 *
 * Integrates rather than picks: with few readings very different scatters are about as likely, and only their mixture
 * has the right tails. The grid over the logarithms closes in twice on where the probability lies; sets below 1/500 of
 * the best are dropped. Reading scatter, bumps and samples are taken to be of one size over the coolers of a bench.
 *
 * @param readings        by speed of each cooler, as `groupBySpeed` gives them
 * @param background_dBA  level with every fan off, if known
 * With several sessions what is not known of the meter's errors in them is integrated in closed form about their best values, and
 * the answers are those with these values taken off the readings.
 *
 * @param sample_dB  scatter of specimens where it is stated; 'unknown': it is looked for; 0: not considered
 * @param sessions   of the meter, where there are several
 */
export function likelyScatters(
  readings: readonly SpeedGroup[][],
  background_dBA: number | undefined,
  sample_dB: number | 'unknown',
  sessions?: MeterSessions,
): { nodes: ScatterNode[]; meter?: MeterErrors } {
  const severalSamples = sample_dB === 'unknown';
  const background_dB = sessions?.stated_dB ?? 0;
  const offset_dB = sessions ? roughOffsets(readings, background_dBA, sessions) : new Float64Array(0);
  const coolers = sessions ? readings.map((groups) => withOffsets(groups, offset_dB)) : readings;
  let ranges = {
    bump: [0.03, 5] as [number, number],
    reading: [0.03, 3] as [number, number],
    sample: [0.05, 4] as [number, number],
  };
  const works = coolers.map((groups) => soundWork(groups, background_dBA));
  for (let closing = 0; ; closing++) {
    const last = closing === 2;
    const bumps = spaced(ranges.bump, last ? 8 : 6);
    const repeats = spaced(ranges.reading, last ? 6 : 5);
    const samples = severalSamples ? spaced(ranges.sample, last ? 5 : 4) : [sample_dB];
    const reaches = BUMP_REACHES_decades.filter((_, index) => last || index % 2 === 1);
    const scatters = everyScatter(bumps, repeats, samples, reaches, background_dB);
    let greatest = -Infinity;
    const nodes: (ScatterNode & { log: number })[] = [];
    for (const scatter of scatters) {
      const logs = coolers.map((groups, c) =>
        solveSound(groups, scatter, background_dBA, works[c], last ? undefined : ROUGHLY_SETTLED_dB),
      );
      const meter = sessions?.given(coolers, works, offset_dB);
      const log = logs.reduce((sum, one) => sum + one, logPrior(scatter, severalSamples)) + (meter?.log ?? 0);
      if (log > greatest - LEAST_LIKELY) {
        const given =
          last && !meter
            ? coolers.map((groups, c) => soundAnswer(groups, scatter, logs[c], copyOf(works[c])))
            : [];
        nodes.push({ scatter, log, given, weight: 0, ...(meter && { meter }) });
      }
      greatest = Math.max(greatest, log);
    }
    const kept = nodes.filter((node) => node.log > greatest - LEAST_LIKELY);
    softmax(kept.map(({ log }) => log)).forEach((weight, k) => {
      kept[k].weight = weight;
    });
    if (last)
      return sessions ? withMeter(readings, background_dBA, kept, sessions, offset_dB) : { nodes: kept };
    ranges = {
      bump: aroundLikely(kept, bumps, (s) => s.bump_dB),
      reading: aroundLikely(kept, repeats, (s) => s.reading_dB),
      sample: severalSamples ? aroundLikely(kept, samples, (s) => s.sample_dB) : ranges.sample,
    };
  }
}

/** The sets of a grid. */
function everyScatter(
  bumps: readonly number[],
  repeats: readonly number[],
  samples: readonly number[],
  reaches: readonly number[],
  background_dB: number,
): SoundScatter[] {
  return repeats.flatMap((reading_dB) =>
    samples.flatMap((sample_dB) =>
      bumps.flatMap((bump_dB) =>
        reaches.map((bumpReach_decades) => ({
          bump_dB,
          bumpReach_decades,
          reading_dB,
          sample_dB,
          background_dB,
        })),
      ),
    ),
  );
}

/** The part of an axis with probability, one step more on either side. */
function aroundLikely(
  nodes: readonly ScatterNode[],
  axis: readonly number[],
  of: (s: SoundScatter) => number,
): [number, number] {
  const likely = axis.map(
    (value) => nodes.reduce((sum, node) => sum + (of(node.scatter) === value ? node.weight : 0), 0) > 0.002,
  );
  const first = Math.max(likely.indexOf(true) - 1, 0);
  const end = Math.min(likely.lastIndexOf(true) + 1, axis.length - 1);
  return [axis[first], axis[end]];
}

/** The answers with the meter's errors at their best values, and these. */
function withMeter(
  readings: readonly SpeedGroup[][],
  background_dBA: number | undefined,
  kept: readonly ScatterNode[],
  sessions: MeterSessions,
  offset_dB: Float64Array,
): { nodes: ScatterNode[]; meter: MeterErrors } {
  const meter = sessions.over(kept as readonly Required<ScatterNode>[], offset_dB);
  const coolers = readings.map((groups) => withOffsets(groups, meter.offset_dB));
  const works = coolers.map((groups) => soundWork(groups, background_dBA));
  const nodes = kept.map((node) => ({
    ...node,
    given: coolers.map((groups, c) => {
      const log = solveSound(groups, node.scatter, background_dBA, works[c]);
      return soundAnswer(groups, node.scatter, log, copyOf(works[c]));
    }),
  }));
  return { nodes, meter };
}

/** The meter's errors at usual scatters, about which the others are looked for: near the background readings are no straight line. */
function roughOffsets(
  readings: readonly SpeedGroup[][],
  background_dBA: number | undefined,
  sessions: MeterSessions,
): Float64Array {
  const usual = {
    bump_dB: 0.5,
    bumpReach_decades: 0.1,
    reading_dB: READING_PRIOR.median_dB,
    sample_dB: SAMPLE_PRIOR.median_dB,
    background_dB: sessions.stated_dB,
  };
  let offset: Float64Array = new Float64Array(sessions.sessions.length);
  for (let round = 0; round < 3; round++) {
    const coolers = readings.map((groups) => withOffsets(groups, offset));
    const works = coolers.map((groups) => soundWork(groups, background_dBA));
    for (const [c, groups] of coolers.entries()) solveSound(groups, usual, background_dBA, works[c]);
    const meter = sessions.given(coolers, works, offset);
    offset = sessions.over([{ weight: 1, meter }], offset).offset_dB;
  }
  return offset;
}

/** Readings with what the meter of their session is thought to read too high. */
function withOffsets(groups: readonly SpeedGroup[], offset_dB: Float64Array): SpeedGroup[] {
  return groups.map((group) => ({ ...group, offset_dB: offset_dB[group.session] }));
}

/**
 * Density of the scatters by their logarithms: log-normal for readings and samples; for bumps half-normal, with a share
 * for fans that hardly show any, without which a smooth fan would never be credited with being one.
 */
function logPrior({ bump_dB, reading_dB, sample_dB }: SoundScatter, severalSamples: boolean): number {
  const logNormal = (value: number, prior: { median_dB: number; logStandardDeviation: number }): number =>
    -0.5 * (Math.log(value / prior.median_dB) / prior.logStandardDeviation) ** 2;
  const { scale_dB, smooth_share, smooth_dB } = BUMP_PRIOR;
  const bumpy = Math.sqrt(2 / Math.PI) * (bump_dB / scale_dB) * Math.exp(-0.5 * (bump_dB / scale_dB) ** 2);
  const smooth = bump_dB <= smooth_dB[1] ? 1 / Math.log(smooth_dB[1] / smooth_dB[0]) : 0;
  return (
    Math.log((1 - smooth_share) * bumpy + smooth_share * smooth) +
    logNormal(reading_dB, READING_PRIOR) +
    (severalSamples ? logNormal(sample_dB, SAMPLE_PRIOR) : 0)
  );
}

/** A copy of solved work, for keeping. */
function copyOf(work: SoundWork): SoundWork {
  return {
    ...work,
    own_dBA: work.own_dBA.slice(),
    factor: work.factor.slice(),
    share: work.share.slice(),
    weighted: work.weighted.slice(),
  };
}

function spaced([low, high]: [number, number], count: number): number[] {
  return Array.from({ length: count }, (_, i) => low * (high / low) ** (i / (count - 1)));
}

/** Median and 95 % interval of one scatter over the grid. */
export function summaryOfScatter(
  nodes: readonly ScatterNode[],
  of: (s: SoundScatter) => number,
): ScatterOfSound {
  return summaryOf(nodes.map(({ scatter, weight }) => ({ value: of(scatter), weight })));
}

/** The same of the scatter between sessions. */
export function summaryOfSessions(nodes: readonly ScatterNode[]): ScatterOfSound {
  return summaryOf(
    nodes.flatMap(({ weight, meter }) =>
      (meter?.scatters ?? []).map((one) => ({ value: one.session_dB, weight: weight * one.weight })),
    ),
  );
}

/** The cumulated weight read with half of each value's own. */
function summaryOf(parts: readonly { value: number; weight: number }[]): ScatterOfSound {
  const byValue = new Map<number, number>();
  for (const { value, weight } of parts) byValue.set(value, (byValue.get(value) ?? 0) + weight);
  const values = [...byValue].sort((p, q) => p[0] - q[0]);
  let below = 0;
  const points = values.map(([value, weight]) => {
    below += weight;
    return { value, at: below - weight / 2 };
  });
  const quantile = (p: number): number => {
    const next = points.findIndex((point) => point.at >= p);
    if (next === 0) return points[0].value;
    if (next < 0) return points[points.length - 1].value;
    const [left, right] = [points[next - 1], points[next]];
    const t = (p - left.at) / (right.at - left.at);
    return left.value * (right.value / left.value) ** t;
  };
  return { value: quantile(0.5), low: quantile(0.025), high: quantile(0.975) };
}
