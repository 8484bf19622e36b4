import { counted, listed } from '../bench/wording.ts';
import { MOUNT, READING, SAMPLE } from '../fit/components.ts';
import type { Pair } from './comparison.ts';
import type { ComparedCooler } from './rise-limits.ts';
import { speedAdvice } from './speed-advice.ts';

/** More fresh mounts than this is no advice (an assumption). */
const MOST_MOUNTS = 24;

/**
 * What the comparison of two coolers comes to, in one or two sentences, and, for a tie, what would break it.
 *
 * @param multiple  critical multiple of the family of pairs
 */
export function pairVerdict(
  pair: Omit<Pair, 'verdict'>,
  scatter: readonly number[],
  a: ComparedCooler,
  b: ComparedCooler,
  multiple: number,
): string {
  const { difference, resolved } = pair;
  const parts = resolved.map(({ from_W, to_W, better }) => {
    const other = better === pair.a ? pair.b : pair.a;
    const inside = difference.filter((d) => d.power_W >= from_W && d.power_W <= to_W);
    const most = inside.reduce((x, y) => (Math.abs(y.rise_K) > Math.abs(x.rise_K) ? y : x));
    const where = from_W === to_W ? `at ${watts(from_W)}` : `from ${watts(from_W)} to ${watts(to_W)}`;
    const by = `${kelvin(most.rise_K)}${from_W === to_W ? '' : ` at ${watts(most.power_W)}`}, ${between(most)}`;
    return `${better} is cooler than ${other} ${where} (by ${by})`;
  });
  const tied = tiedRanges(difference);
  if (tied.length === 0) return `${parts.join('; ')}.`;
  const where = listed(
    tied.map(([from, to]) => (from === to ? `at ${watts(from)}` : `from ${watts(from)} to ${watts(to)}`)),
    'and',
  );
  const held = ifPipesHold(pair);
  const tie = parts.length === 0 ? `${pair.a} and ${pair.b} are a tie ${where}` : `a tie ${where}`;
  return `${[...parts, tie].join('; ')}.${held} ${tieBreaker(tied, scatter, a, b, multiple)}`;
}

/** "Told apart if the pipes hold …": loads of a tie at which only a limit of heat pipes keeps the two from being told apart. */
function ifPipesHold({ a, b, difference }: Omit<Pair, 'verdict'>): string {
  const told = difference.filter(({ low_K, high_K, if_pipes_hold: held }) => {
    return held && low_K <= 0 && high_K >= 0 && (held.low_K > 0 || held.high_K < 0);
  });
  if (told.length === 0) return '';
  const [first, last] = [told[0], told[told.length - 1]];
  const better = (first.if_pipes_hold?.high_K ?? 0) < 0 ? a : b;
  const where =
    told.length === 1
      ? `at ${watts(first.power_W)}`
      : `between ${watts(first.power_W)} and ${watts(last.power_W)}`;
  return ` Told apart if no heat-pipe limit is met: ${better} is then cooler ${where}.`;
}

/** Stretches of neighbouring loads asked for at which the two are not resolved. */
function tiedRanges(difference: Pair['difference']): [number, number][] {
  const out: [number, number][] = [];
  let open = false;
  for (const { power_W, low_K, high_K } of difference) {
    const isTie = low_K <= 0 && high_K >= 0;
    if (isTie && open) out[out.length - 1][1] = power_W;
    else if (isTie) out.push([power_W, power_W]);
    open = isTie;
  }
  return out;
}

/** What fresh runs at one load would take to tell a tie apart. */
interface Candidate {
  /** Index of the load among those looked at. */
  readonly g: number;
  readonly power_W: number;
  readonly apart: number;
  readonly beyond: boolean;
  readonly mounts: number;
  readonly samples: number;
}

/** What would tell two tied coolers apart: sound readings, more mounts, more specimens, another load, or nothing within reason. */
function tieBreaker(
  tied: readonly (readonly [number, number])[],
  scatter: readonly number[],
  a: ComparedCooler,
  b: ComparedCooler,
  multiple: number,
): string {
  const [first, last] = [tied[0][0], tied[tied.length - 1][1]];
  let easiest: Candidate | undefined;
  let next: Candidate | undefined;
  for (let g = 0; g < a.limits.length; g++) {
    const [one, other] = [a.limits[g], b.limits[g]];
    const { power_W } = one;
    if (power_W < first || power_W > last || !a.withinReach[g] || !b.withinReach[g]) continue;
    if (!tied.some(([from, to]) => power_W >= from && power_W <= to)) continue;
    const apart = Math.abs(one.middle_K - other.middle_K);
    const beyond = one.extrapolated || other.extrapolated;
    const loading = (one.distribution.loading_W + other.distribution.loading_W) / 2;
    const mounts = mountsFor(apart, scatter, loading, multiple);
    const samples = samplesFor(apart, scatter, loading, multiple);
    // Loads that were run come before those that were not, and then what takes fewer mounts, or fewer specimens.
    const isEasier =
      easiest === undefined ||
      (beyond === easiest.beyond
        ? mounts < easiest.mounts || (mounts === easiest.mounts && samples < easiest.samples)
        : easiest.beyond);
    if (isEasier) easiest = { g, power_W, apart, beyond, mounts, samples };
    if (beyond && mounts <= MOST_MOUNTS && !next) next = { g, power_W, apart, beyond, mounts, samples };
  }
  if (!easiest) {
    return 'No run is proposed there, because the supply, the limit of the source or the loads run so far do not allow one.';
  }
  const where = `at ${watts(easiest.power_W)}, where they are ${kelvin(easiest.apart)} apart at best estimate`;
  const speeds = speedAdvice(a, b, easiest.g, multiple);
  if (speeds !== '' && easiest.mounts <= MOST_MOUNTS) {
    return `${speeds} Then ${counted(easiest.mounts, 'fresh mount')} of each ${where}.`;
  }
  if (speeds !== '') return speeds;
  if (easiest.mounts <= MOST_MOUNTS) {
    return `To break the tie: ${counted(easiest.mounts, 'fresh mount')} of each ${where}.`;
  }
  if (easiest.samples <= MOST_MOUNTS) {
    return `Mounts alone will not break the tie; ${counted(easiest.samples, 'specimen')} of each, mounted once, would ${where}.`;
  }
  if (next) {
    return `No reasonable number of runs at the tested loads breaks the tie; runs at ${watts(next.power_W)} might, where the models put them ${kelvin(next.apart)} apart.`;
  }
  return 'No reasonable number of runs would break the tie; treat them as equal.';
}

/** Fresh mounts of one specimen of each that would resolve a difference; infinite where the specimens' scatter is in the way. */
function mountsFor(apart_K: number, scatter: readonly number[], loading_W: number, multiple: number): number {
  const room = (apart_K / multiple) ** 2 / 2 - (scatter[SAMPLE] * loading_W) ** 2;
  const each = (scatter[MOUNT] * loading_W) ** 2 + scatter[READING] ** 2;
  return room > 0 ? Math.max(1, Math.ceil(each / room)) : Number.POSITIVE_INFINITY;
}

/** Samples of each cooler, mounted once, that would resolve a difference: n = 2·(mult·s/Δ)². */
function samplesFor(
  apart_K: number,
  scatter: readonly number[],
  loading_W: number,
  multiple: number,
): number {
  const each = (scatter[SAMPLE] ** 2 + scatter[MOUNT] ** 2) * loading_W ** 2 + scatter[READING] ** 2;
  return apart_K > 0 ? Math.ceil((2 * each * multiple ** 2) / apart_K ** 2) : Number.POSITIVE_INFINITY;
}

function watts(value: number): string {
  return `${Number(value.toPrecision(4))} W`;
}

function kelvin(value: number): string {
  return `${Math.abs(value).toFixed(1)} K`;
}

/** The limits of a difference told apart, both as distances. */
function between({ low_K, high_K }: Pair['difference'][number]): string {
  const [near, far] = [Math.abs(low_K), Math.abs(high_K)].sort((x, y) => x - y);
  return `${near.toFixed(1)} to ${far.toFixed(1)}`;
}
