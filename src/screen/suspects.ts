import type { Bench, Run } from '../bench/bench.ts';
import { groupedBy } from '../bench/grouped.ts';
import { distinctMounts } from '../bench/mounts.ts';
import { isZeroLoad } from '../bench/run.ts';
import type { BenchPosterior } from '../fit/bench-posterior.ts';
import { grossRuns } from './gross.ts';
import { type JudgedCooler, type Judgement, judge, judgedCoolers, withScatter } from './judge.ts';
import { likelyFaulty } from './likely-faulty.ts';
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
/** So many in a row that turn out well end the search; more than one, since faults can hide each other. */
const WELL_IN_A_ROW = 2;
/** A cooler whose mounts are in order with less than this chance is looked into (an assumption). */
const WORTH_TAKING_OUT = 0.5;

/**
 * Finds what should not have a say in what is usual.
 *
 * One bad mount swells the scatter by which it is judged, and several hide each other. So all mounts are weighed at once first, see
 * {@link likelyFaulty}, and those that are likelier faulty than not are taken out. That sees a fault's size and not its pattern over load and speed:
 * then the strangest mount (or lone run) is taken out, the scatters are estimated without it, and it is judged by what is left; then the next, until
 * some in a row are well or the more consistent half of the bench remains. Of all of these, those up to the last that is significant stand;
 * see {@link standing}. Only the scatters are estimated anew on the way, about the curves of one fit: what comes back is a fit without those that stand.
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
  const faulty = faultyMounts(start, mounts);
  const p = faulty.map(({ healthy }) => healthy);
  let now = faulty.length > 0 ? cheaplyWithout(start, ...faulty.map(({ suspect }) => suspect)) : start;
  const most = Math.max(p.length + 1, 2, Math.floor(MOST_SUSPECTS * mounts.length));
  let well = 0;
  while (p.length < most && well < WELL_IN_A_ROW) {
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

/** Mounts that are likelier faulty than not, the likeliest first, each judged with scatters that its cooler has no say in. */
function faultyMounts(
  now: CleanBench,
  mounts: readonly (readonly Run[])[],
): { suspect: Suspect; healthy: number }[] {
  const likely = likelyFaulty(byCooler(now, mounts), now.posterior.scatter.sigma).filter(
    ({ allHealthy }) => allHealthy < WORTH_TAKING_OUT,
  );
  if (likely.length === 0) return [];
  const neither = cheaplyWithout(
    now,
    ...likely.flatMap((one) => one.mounts.map((runs): Suspect => ({ kind: 'mount', runs }))),
  );
  const found = likely.flatMap((one) => {
    if (one.mounts.length === 2) {
      const rivals = one.mounts.map((runs): Suspect => ({ kind: 'mount', runs }));
      const suspect = likeliest({ ...neither, isTrusted: now.isTrusted }, rivals);
      return suspect ? [{ suspect, healthy: one.allHealthy }] : [];
    }
    const bad = one.mounts.flatMap((runs, k) =>
      one.healthy[k] < WORTH_TAKING_OUT ? [{ runs, healthy: one.healthy[k] }] : [],
    );
    const rest = new Set(bad.flatMap(({ runs }) => runs));
    return bad.flatMap(({ runs, healthy }) => {
      const isTrusted = (run: Run) => now.isTrusted(run) && !rest.has(run);
      const judged = judgedAmong({ ...neither, isTrusted }, { kind: 'mount', runs });
      return judged ? [{ suspect: suspectOf(judged), healthy }] : [];
    });
  });
  return found.sort((a, b) => a.healthy - b.healthy);
}

/** The coolers with their known fittings, each with its runs that are trusted. */
export function byCooler(
  { coolers, isTrusted }: CleanBench,
  mounts: readonly (readonly Run[])[],
): { cooler: JudgedCooler; mounts: Run[][] }[] {
  const known = mounts
    .map((runs) => runs.filter((run) => run.mount !== undefined && isTrusted(run)))
    .filter((runs) => runs.length > 0);
  const mountsOfCooler = groupedBy(known, ([run]) => run.cooler);
  return coolers.map((cooler) => ({ cooler, mounts: mountsOfCooler.get(cooler.cooler) ?? [] }));
}

/** ISO 5725-2: a straggler lies beyond 5 %. */
const STRAGGLER = 0.05;

/** How many tests the mounts are: two of one cooler are one, and a mount alone on its cooler is none. */
function testsOf(mounts: readonly (readonly Run[])[]): number {
  const byCooler = [...groupedBy(mounts, ([run]) => run.cooler).values()];
  return byCooler.reduce((sum, { length }) => sum + (length > 2 ? length : length - 1), 0);
}

/** The bench without its suspects: posterior and coolers, for judging the suspects by all others. */
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
  return likeliest({ ...cheaplyWithout(now, ...rivals), isTrusted: now.isTrusted }, rivals);
}

/** Neither a leak nor a sensor takes more than this off a mount, and nothing else makes one cooler (an assumption), K. */
const NEVER_COOLER_BY_K = 15;

/**
 * The one with most evidence against it, as one through and through or one run of it; of two that are farther apart than any fault can make a
 * mount cooler, the warmer.
 */
function likeliest(now: CleanBench, rivals: readonly Suspect[]): Suspect | undefined {
  const judged = rivals.flatMap((one) => judgedAmong(now, one) ?? []);
  if (judged.length === 0) return undefined;
  const warmer = judged.filter(({ residual_K }) => !residual_K.some((off) => off < -NEVER_COOLER_BY_K));
  const likely = warmer.length > 0 ? warmer : judged;
  return suspectOf(likely.reduce((a, b) => (b.evidence > a.evidence ? b : a)));
}

/** A suspect judged on this bench. */
function judgedAmong(
  { posterior, coolers, isTrusted }: CleanBench,
  { runs }: Suspect,
): Judgement | undefined {
  const cooler = coolers.find((one) => one.cooler === runs[0].cooler);
  return cooler && judge(posterior, cooler, runs, isTrusted);
}

/** Some suspects more, about the curves as they stand; only the scatters are estimated anew. */
function cheaplyWithout(now: CleanBench, ...more: readonly Suspect[]): CleanBench {
  const out = new Set(more.flatMap(({ runs }) => runs));
  const isTrusted = (run: Run) => now.isTrusted(run) && !out.has(run);
  const scatter = scatterWithout(now.posterior, isTrusted);
  const posterior = { ...now.posterior, scatter };
  return {
    posterior,
    coolers: withScatter(now.coolers, posterior),
    suspects: [...now.suspects, ...more],
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
  const byName = new Map(now.coolers.map((cooler) => [cooler.cooler, cooler]));
  // A mount can be judged only where the cooler has runs on another one.
  const othersJudge = (runs: readonly Run[]) =>
    byName.get(runs[0].cooler)?.data.runs.some((run) => now.isTrusted(run) && !runs.includes(run));
  const blocks = mounts
    .map((runs) => runs.filter(now.isTrusted))
    .filter((left) => left.length > 0 && othersJudge(left));
  const judgeAll = (some: readonly Run[][], isBrief: boolean) =>
    some.flatMap((left) => {
      const cooler = byName.get(left[0].cooler);
      return cooler ? [judge(now.posterior, cooler, left, now.isTrusted, isBrief)] : [];
    });
  let inQuestion = blocks;
  if (blocks.length > MANY_MOUNTS) {
    const brief = judgeAll(blocks, true).sort((a, b) => a.p - b.p);
    if (brief.length === 0 || brief[0].p * blocks.length > WORTH_A_LOOK) return [];
    const odd = new Set(brief.slice(0, MOST_ODD).map(({ cooler }) => cooler));
    inQuestion = blocks.filter(([{ cooler }]) => odd.has(cooler));
  }
  const judged = judgeAll(inQuestion, false);
  judged.sort((a, b) => b.evidence - a.evidence);
  const [first] = judged;
  if (!first) return [];
  const rivals = judged.filter(
    (one) => one !== first && one.cooler === first.cooler && one.evidence > RIVAL * first.evidence,
  );
  return [first, ...rivals.slice(0, MOST_RIVALS)].map(suspectOf);
}

/** A rival has at least this share of the evidence (an assumption). */
const RIVAL = 0.3;
const MOST_RIVALS = 2;

/**
 * Among many mounts one bad one hardly swells the scatter, so that what is not even remarkable before it is taken out will not be so afterwards, and
 * the fits can be saved (an assumption).
 */
const MANY_MOUNTS = 40;
const WORTH_A_LOOK = 0.3;
/** Causes are weighed for the coolers of so many of the least p; what has the most evidence against it is among them. */
const MOST_ODD = 20;

/** Whether a strange mount is one through and through, or one run of it. */
function suspectOf(judged: Judgement): Suspect {
  const unexplained = judged.causes.get('unexplained') ?? 0;
  const loneShare = Math.exp(judged.lone.evidence - judged.evidence);
  const known = 1 - unexplained;
  if (judged.runs.length > 1 && loneShare > known) return { kind: 'run', runs: [judged.lone.run] };
  return { kind: 'mount', runs: judged.runs };
}
