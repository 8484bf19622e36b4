import type { Bench, Run } from '../bench/bench.ts';
import { posteriorOf } from '../posterior/posterior-of.ts';
import type { RunVerdict, Strange } from '../screen-results.ts';
import { studyOf } from '../study.ts';
import { type ScreenedSource, screenSource } from './screen-posterior.ts';

/** The verdicts on a source of a bench, found once; the fit is the one that answers are made of, unless something has to be left out. */
export function screenedSource(bench: Bench, source: string): ScreenedSource {
  const kept = (runs: readonly Run[] | undefined) => (runs ? { ...bench, runs: [...runs] } : bench);
  return studyOf(bench).once(`screened ${source}`, () =>
    screenSource(bench, source, (runs) => posteriorOf(kept(runs), source)),
  );
}

/** Runs without any scatter, as arithmetic makes them, leave nothing to judge a run by: `undefined`, and an answer stands without. */
function screenedIfScattered(bench: Bench, source: string): ScreenedSource | undefined {
  try {
    return screenedSource(bench, source);
  } catch (error) {
    if (error instanceof RangeError) return undefined;
    throw error;
  }
}

/**
 * Level of a finding that stands above answers, stricter than the 1 % of `screen`.
 *
 * A false alarm in a headline costs trust, and healthy benches give more of them than 1 %: one study of the second virtual lab counted
 * 24 % of healthy benches flagged at 1 %, and test/benchmarks/screen-small (6 coolers of 2 mounts, 4 of 3) finds 4 of 75. A typing error
 * keeps the 1 % of its verdict: that a slip of the pen explains the reading is evidence of its own.
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
    const screened = screenedIfScattered(bench, name);
    if (!screened) return [];
    const { mounts, runs, judged } = screened;
    const inMount = new Set<string>();
    const strange = mounts.flatMap((found, k): Strange[] => {
      if (!inHeadline(found)) return [];
      const { cooler, sample, mount, p, cause } = found;
      const one = judged[k];
      for (const { run } of one.runs) inMount.add(run);
      const most = one.runs.reduce((a, { power_W }, i) => (power_W > one.runs[a].power_W ? i : a), 0);
      const { power_W } = one.runs[most];
      return [
        {
          cooler,
          sample,
          source: name,
          mount,
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
