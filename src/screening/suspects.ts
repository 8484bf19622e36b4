import type { Bench, Run } from '../bench/bench.ts';
import { distinctMounts } from '../bench/mounts.ts';
import { isZeroLoad } from '../bench/run.ts';
import type { BenchPosterior } from '../posterior/bench-posterior.ts';
import { type JudgedCooler, type Judgement, judge, judgedCoolers } from './judge.ts';
import { standing } from './verdict-of.ts';

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
const MOST_SUSPECTS = 0.2;
/** So many in a row that turn out well end the search; more than one, since two faults can hide each other. */
const WELL_IN_A_ROW = 2;

/**
 * Finds what should not have a say in what is usual.
 *
 * One bad mount swells the scatter by which it is judged and bends the curve it is judged against. So the strangest mount (or lone run) is
 * taken out, the bench fitted again without it, and the thing judged by what is left; then the next. What comes back is the fit without
 * those that stand; see {@link standing}.
 *
 * @param posteriorOfRuns  posterior of the bench with only these runs
 */
export function findSuspects(
  bench: Bench,
  source: string,
  posteriorOfRuns: (runs: readonly Run[] | undefined) => BenchPosterior,
): CleanBench {
  const mounts = mountsOf(bench, source);
  const most = Math.max(2, Math.ceil(MOST_SUSPECTS * mounts.length));
  const path: CleanBench[] = [cleanBench(bench, [], posteriorOfRuns)];
  const p: number[] = [];
  let well = 0;
  while (p.length < most && well < WELL_IN_A_ROW) {
    const now = path[path.length - 1];
    const rivals = strangest(now, mounts).flatMap(({ next, evident }) => {
      const without = cleanBench(bench, [...now.suspects, next], posteriorOfRuns);
      const cooler = without.coolers.find((one) => one.cooler === next.runs[0].cooler);
      return cooler
        ? [{ next, evident, without, judged: judge(without.posterior, cooler, next.runs, without.isTrusted) }]
        : [];
    });
    if (rivals.length === 0) break;
    const worst = rivals.reduce((a, b) => (b.judged.evidence > a.judged.evidence ? b : a));
    const left = mounts.length - now.suspects.length;
    const family = worst.next.kind === 'mount' ? left : left * (mounts[0]?.length ?? 1);
    const own = Math.min(1, worst.judged.p * Math.max(family, 1));
    p.push(worst.evident || own < OUTLIER ? own : 1);
    path.push(worst.without);
    well = p[p.length - 1] < STRAGGLER ? 0 : well + 1;
  }
  return path[standing(p, STRAGGLER)];
}

const STRAGGLER = 0.05;
const OUTLIER = 0.01;
/**
 * Log odds from which a suspect is evident before it is taken out. One that is not may be hidden by another, and is then an outlier once both are out;
 * as a mere straggler it does not count.
 */
const EVIDENT = 0.5;

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

/** The fittings of a source with the runs under load; runs whose fitting is not known are each one of their own. */
export function mountsOf(bench: Bench, source: string): Run[][] {
  return distinctMounts(bench.runs.filter((run) => run.source === source && !isZeroLoad(run))).map(
    (mount) => [...mount.runs],
  );
}

/**
 * What has most evidence against it, and its rivals: where a cooler has few mounts, the odd one makes the others look odd too, so each is
 * tried as the culprit and the one that the rest speaks against most clearly is it. Nothing where a healthy bench has as much.
 */
function strangest(
  now: CleanBench,
  mounts: readonly (readonly Run[])[],
): { next: Suspect; evident: boolean }[] {
  const judged: Judgement[] = [];
  for (const runs of mounts) {
    const left = runs.filter(now.isTrusted);
    if (left.length === 0 || !othersJudge(now, left)) continue;
    const cooler = now.coolers.find((one) => one.cooler === left[0].cooler);
    if (cooler) judged.push(judge(now.posterior, cooler, left, now.isTrusted));
  }
  judged.sort((a, b) => b.evidence - a.evidence);
  const [first] = judged;
  if (!first) return [];
  if (judged.length > MANY_MOUNTS && first.p * judged.length > WORTH_A_LOOK) return [];
  const rivals = judged.filter(
    (one) => one !== first && one.cooler === first.cooler && one.evidence > RIVAL * first.evidence,
  );
  const tried = first.evidence > EVIDENT ? [first, ...rivals.slice(0, MOST_RIVALS)] : [first];
  return tried.map((one) => ({
    next: suspectOf(one),
    evident: one.evidence > EVIDENT,
  }));
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
