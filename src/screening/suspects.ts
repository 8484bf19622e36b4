import type { Bench, Run } from '../bench/bench.ts';
import { groupedBy } from '../bench/grouped.ts';
import { distinctMounts } from '../bench/mounts.ts';
import { isZeroLoad } from '../bench/run.ts';
import { smallest } from '../numerics/extremes.ts';
import type { BenchPosterior } from '../posterior/bench-posterior.ts';
import { grossRuns } from './gross.ts';
import { type JudgedCooler, type Judgement, judge, judgedCoolers, withScatter } from './judge.ts';
import { scatterWithout } from './scatter-without.ts';
import { KINDS_JUDGED, standing } from './verdict-of.ts';

/** A mount, or one run, that is taken out as a whole. */
export interface Suspect {
  readonly kind: 'mount' | 'run';
  readonly runs: readonly Run[];
}

/** A posterior with the runs it was made without. */
export interface CleanBench {
  readonly posterior: BenchPosterior;
  readonly coolers: readonly JudgedCooler[];
  readonly suspects: readonly Suspect[];
  readonly isTrusted: (run: Run) => boolean;
}

/** At most this share of the mounts may be suspects: beyond it nobody can say which of them are the healthy ones. */
const MOST_SUSPECTS = 0.5;
/** So many in a row that turn out well end the search, on a bench of many mounts; more than one, since faults can hide each other. */
const WELL_IN_A_ROW = 4;

/**
 * Finds what should not have a say in what is usual.
 *
 * One bad mount swells the scatter by which it is judged, and several hide each other. So the strangest mount (or lone run) is taken out, the
 * scatters are estimated without it, and it is judged by what is left; then the next, until the more consistent half of the bench remains. Of
 * these, all up to the last that is significant stand; see {@link standing}. Only the scatters are estimated anew on the way, about the curves
 * of one fit: what comes back is a fit without those that stand.
 *
 * @param posteriorOfRuns  posterior of the bench with only these runs
 */
export function findSuspects(
  bench: Bench,
  source: string,
  posteriorOfRuns: (runs: readonly Run[] | undefined) => BenchPosterior,
): CleanBench {
  const mounts = mountsOf(bench, source);
  const gross = grossRuns(bench, source).map((run): Suspect => ({ kind: 'run', runs: [run] }));
  const start = cleanBench(bench, gross, posteriorOfRuns);
  const most = Math.max(2, Math.floor(MOST_SUSPECTS * mounts.length));
  const p: number[] = [];
  let now = start;
  let well = 0;
  while (p.length < most && !(mounts.length > MANY_MOUNTS && well >= WELL_IN_A_ROW)) {
    const next = culprit(now, strangest(now, mounts));
    if (!next) break;
    const without = cheaplyWithout(now, next);
    const judged = judgedAmong(without, next);
    if (!judged) break;
    const left = mounts.filter((runs) => runs.some(now.isTrusted));
    const family = next.kind === 'mount' ? testsOf(left) : left.reduce((sum, runs) => sum + runs.length, 0);
    p.push(Math.min(1, judged.p * KINDS_JUDGED * Math.max(family, 1)));
    now = without;
    well = p[p.length - 1] < STRAGGLER ? 0 : well + 1;
  }
  const found = now.suspects.slice(0, gross.length + standing(p, STRAGGLER));
  return found.length === gross.length ? start : cleanBench(bench, found, posteriorOfRuns);
}

const STRAGGLER = 0.05;

/** How many tests the mounts are: two of one cooler are one, and a mount alone on its cooler is none. */
function testsOf(mounts: readonly (readonly Run[])[]): number {
  const byCooler = [...groupedBy(mounts, ([run]) => run.cooler).values()];
  return byCooler.reduce((sum, { length }) => sum + (length > 2 ? length : length - 1), 0);
}

function cleanBench(
  bench: Bench,
  suspects: readonly Suspect[],
  posteriorOfRuns: (runs: readonly Run[] | undefined) => BenchPosterior,
): CleanBench {
  const out = new Set(suspects.flatMap((suspect) => suspect.runs));
  const isTrusted = (run: Run) => !out.has(run);
  const posterior = posteriorOfRuns(out.size === 0 ? undefined : bench.runs.filter(isTrusted));
  return { posterior, coolers: judgedCoolers(bench, posterior, isTrusted), suspects, isTrusted };
}

/** Of rivals the one that its fault explains best, all of them judged with the scatters that none of them has a say in. */
function culprit(now: CleanBench, rivals: readonly Suspect[]): Suspect | undefined {
  if (rivals.length < 2) return rivals[0];
  const neither = rivals.reduce(cheaplyWithout, now);
  const evidence = rivals.map(
    (one) => judgedAmong({ ...neither, isTrusted: now.isTrusted }, one)?.evidence ?? Number.NEGATIVE_INFINITY,
  );
  return rivals[evidence.indexOf(Math.max(...evidence))];
}

function judgedAmong(
  { posterior, coolers, isTrusted }: CleanBench,
  { runs }: Suspect,
): Judgement | undefined {
  const cooler = coolers.find((one) => one.cooler === runs[0].cooler);
  return cooler && judge(posterior, cooler, runs, isTrusted);
}

/** One suspect more, about the curves as they stand; only the scatters are estimated anew. */
function cheaplyWithout(now: CleanBench, next: Suspect): CleanBench {
  const out = new Set(next.runs);
  const isTrusted = (run: Run) => now.isTrusted(run) && !out.has(run);
  const scatter = scatterWithout(now.posterior, isTrusted);
  const posterior = { ...now.posterior, scatter };
  return {
    posterior,
    coolers: withScatter(now.coolers, posterior),
    suspects: [...now.suspects, next],
    isTrusted,
  };
}

/** The fittings of a source with the runs under load; runs whose fitting is not known are each one of their own. */
export function mountsOf(bench: Bench, source: string): Run[][] {
  return distinctMounts(bench.runs.filter((run) => run.source === source && !isZeroLoad(run))).map(
    (mount) => [...mount.runs],
  );
}

/**
 * What has most evidence against it, and its rivals: where a cooler has few mounts, the odd one makes the others look odd too, so each is
 * tried as the culprit and the one that the rest speaks against most clearly is it. Nothing where no mount has another to be held against.
 */
function strangest(now: CleanBench, mounts: readonly (readonly Run[])[]): Suspect[] {
  const blocks: Run[][] = [];
  for (const runs of mounts) {
    const left = runs.filter(now.isTrusted);
    if (left.length === 0 || !othersJudge(now, left)) continue;
    blocks.push(left);
  }
  const judgeAll = (isBrief: boolean) =>
    blocks.flatMap((left) => {
      const cooler = now.coolers.find((one) => one.cooler === left[0].cooler);
      return cooler ? [judge(now.posterior, cooler, left, now.isTrusted, isBrief)] : [];
    });
  if (blocks.length > MANY_MOUNTS) {
    const least = smallest(judgeAll(true).map((one) => one.p));
    if (least * blocks.length > WORTH_A_LOOK) return [];
  }
  const judged = judgeAll(false);
  judged.sort((a, b) => b.evidence - a.evidence);
  const [first] = judged;
  if (!first) return [];
  const rivals = judged.filter(
    (one) => one !== first && one.cooler === first.cooler && one.evidence > RIVAL * first.evidence,
  );
  return [first, ...rivals.slice(0, MOST_RIVALS)].map(suspectOf);
}

/** A rival has at least this share of the evidence. */
const RIVAL = 0.3;
const MOST_RIVALS = 2;

/**
 * Among many mounts one bad one hardly swells the scatter, so that what is not even remarkable before it is taken out will not be so afterwards, and
 * the fits can be saved.
 */
const MANY_MOUNTS = 40;
const WORTH_A_LOOK = 0.3;

/** Whether a strange mount is one through and through, or one run of it. */
function suspectOf(judged: Judgement): Suspect {
  const unexplained = judged.causes.get('unexplained') ?? 0;
  const loneShare = Math.exp(judged.lone.evidence - judged.evidence);
  const known = 1 - unexplained;
  if (judged.runs.length > 1 && loneShare > known) return { kind: 'run', runs: [judged.lone.run] };
  return { kind: 'mount', runs: judged.runs };
}

/** A mount can be judged only where the cooler has runs on another one. */
function othersJudge(now: CleanBench, runs: readonly Run[]): boolean {
  const cooler = now.coolers.find((one) => one.cooler === runs[0].cooler);
  return cooler?.data.runs.some((run) => now.isTrusted(run) && !runs.includes(run)) ?? false;
}
