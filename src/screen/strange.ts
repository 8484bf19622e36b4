import type { Bench, Run } from '../bench/bench.ts';
import { mountName } from '../bench/mounts.ts';
import { posteriorOf } from '../fit/posterior-of.ts';
import { studyOf } from '../study.ts';
import type { ScreenedCause } from './causes.ts';
import type { RunVerdict } from './screen-posterior.ts';
import { mateOf, type ScreenedSource, screenSource } from './screen-posterior.ts';

/** A clear outlier that an answer stands on (p below 0.1 %, a typing error below 1 %): a run, or a mount with all of its runs. */
export interface Strange {
  /** A run alone; absent: a whole mount, named by the next four. */
  run?: string;
  cooler: string;
  sample?: string;
  source?: string;
  mount?: string;
  /** The cooler's only other mount, where it has one: that the two differ is the finding, this one is the likelier culprit. */
  mate?: string;
  /** Load of the run, or the greatest of the mount, at which the next two are meant. */
  power_W: number;
  /** What was read less what all others predict, K. */
  off_K: number;
  /** Standard uncertainty of that, K, the run's own scatter and that of mounts included. */
  u_K: number;
  p: number;
  cause: ScreenedCause | null;
}

/** What every answer over runs has besides. */
export interface OverRuns {
  /** Clear outliers among the runs that the answer stands on; empty where there is none. `screen` has the marginal ones too. */
  strange: Strange[];
}

/** What an answer over runs has besides: the outliers that it stands on, and warnings, the bench's first. */
export function overRuns(
  { bench, warnings }: { readonly bench: Bench; readonly warnings: readonly string[] },
  source: string | undefined,
  own: readonly string[],
): OverRuns & { warnings: string[] } {
  return { strange: strangeOf(bench, source), warnings: [...bench.warnings, ...warnings, ...own] };
}

/** The verdicts on a source of a bench, found once; the fit is the one that answers are made of, unless something has to be left out. */
export function screenedSource(bench: Bench, source: string): ScreenedSource {
  const kept = (runs: readonly Run[] | undefined) => (runs ? { ...bench, runs: [...runs] } : bench);
  return studyOf(bench).once(`screened ${source}`, () =>
    screenSource(bench, source, (runs) => posteriorOf(kept(runs), source)),
  );
}

/**
 * Level of a finding that stands above answers, stricter than the 1 % of `screen`.
 *
 * A false alarm in a headline costs trust, and the family of what is judged is large. A typing error keeps the 1 % of its verdict: that a slip
 * of the pen explains the reading is evidence of its own.
 */
const HEADLINE_P = 0.001;

/** Whether a finding of `screen` stands above answers as well. */
export function inHeadline({ verdict, p, cause }: Pick<RunVerdict, 'verdict' | 'p' | 'cause'>): boolean {
  return verdict === 'outlier' && (cause === 'typing' || p < HEADLINE_P);
}

/**
 * The outliers among the runs and mounts that an answer stands on, so that nobody overlooks them; stragglers and marginal outliers are
 * for `screen`.
 *
 * @param source  the source answered for; the heater's runs are behind its answers too
 */
export function strangeOf(bench: Bench, source = 'heater'): Strange[] {
  return [...new Set(['heater', source])].flatMap((name) => {
    const { mounts, runs, judged } = screenedSource(bench, name);
    const inMount = new Set<string>();
    const strange = mounts.flatMap((found, k): Strange[] => {
      if (!inHeadline(found)) return [];
      const { cooler, sample, mount, p, cause } = found;
      const one = judged[k];
      for (const { run } of one.runs) inMount.add(run);
      const most = one.runs.reduce((a, { power_W }, i) => (power_W > one.runs[a].power_W ? i : a), 0);
      const { power_W } = one.runs[most];
      const mate = mateOf(
        judged.map(({ runs: own }) => own),
        k,
      )?.[0];
      return [
        {
          cooler,
          sample,
          source: name,
          mount,
          ...(mate && { mate: mountName(mate) }),
          power_W,
          off_K: one.residual_K[most],
          u_K: one.u_K[most],
          p,
          cause,
        },
      ];
    });
    const lone = runs.flatMap((found): Strange[] => {
      const { run, residual_K, u_K, p, cause } = found;
      if (!inHeadline(found) || inMount.has(run)) return [];
      const { cooler, power_W } = bench.runs.find((one) => one.run === run) as Run;
      return [{ run, cooler, power_W, off_K: residual_K, u_K, p, cause }];
    });
    return [...strange, ...lone];
  });
}
