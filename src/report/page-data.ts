import { screen } from '../answers/screen.ts';
import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { isZeroLoad } from '../bench/run.ts';
import { loggedTimes } from '../design/bench-time.ts';
import type { BenchPosterior } from '../fit/bench-posterior.ts';
import { runElsewhere } from '../fit/chip-posterior.ts';
import { sourceTerm } from '../fit/chip-term.ts';
import { type CompactPosterior, compactPosterior } from '../fit/compact.ts';
import { type CompactTerm, compactTerm } from '../fit/compact-term.ts';
import { posteriorFor } from '../fit/posterior-for.ts';
import { benchWithRuns } from '../logs/bench-with-runs.ts';
import type { ControlChartResult } from '../months/control-chart.ts';
import { sessionsOutOfControl } from '../months/sessions-out-of-control.ts';
import type { Conditions } from '../predict/conditions.ts';
import { fitResultOf } from '../predict/fit-result.ts';
import type { MountOffset } from '../screen/mount-offsets.ts';
import { type Parting, type PartingCurves, partingCurves } from '../screen/parting.ts';
import type { MountVerdict } from '../screen/screen-posterior.ts';
import { strangeOf } from '../screen/strange.ts';
import { basis } from './basis.ts';
import { type PackedBench, packBench } from './bench-pack.ts';
import { evidence } from './evidence.ts';
import type { FileHash } from './file-hashes.ts';
import { type LoggedRun, loggedRuns } from './logged-runs.ts';
import { type PagePlan, pagePlan } from './page-plan.ts';
import { strangeHtml } from './strange-rows.ts';
import { type SurfaceMap, surfaceMaps } from './surface-maps.ts';

/** What the page draws of a mount. */
export type PageMount = MountOffset &
  Pick<MountVerdict, 'cooler' | 'sample' | 'source' | 'mount' | 'verdict' | 'cause'>;

/** How a strange mount's log parts from that of another mount of its cooler, as the page draws it. */
export type PageParting = Parting &
  PartingCurves &
  Pick<MountVerdict, 'cooler' | 'sample' | 'mount' | 'cause'> & { power_W: number };

/**
 * What the page holds: the bench and its posteriors. Everything it shows is computed from these by the functions that
 * the command line calls, at whatever conditions the reader sets.
 */
export interface PageData {
  version: string;
  bench: PackedBench;
  /** The bench before runs were set aside or carried over, where that is another: runs are put back from it. */
  whole?: PackedBench;
  /** One for each source of `fittedSources`. */
  posteriors: CompactPosterior[];
  /** What each chip has more than the heater, by its name; empty without heater runs. */
  terms: Record<string, CompactTerm>;
  /** The conditions shown first. */
  asked: Conditions;
  /** Empty where nobody computed them. */
  hashes: FileHash[];
  /** HTML of what no control moves; see `fixedSections` and `recordSection`. */
  sections: string;
  /** HTML of what every answer stands on, and of what those on a source stand on, by its name. */
  basis: string;
  evidence: Record<string, string>;
  /** See `referenceControl`. */
  control: ControlChartResult | null;
  /** Responses of the logs, the first so many; see `loggedRuns`. */
  logs: LoggedRun[];
  /** The gap under each base that was measured. */
  surfaces: SurfaceMap[];
  /** Every mount as `screen` judges it; empty where nothing can be judged. */
  mounts: PageMount[];
  /** Of the strange mounts those whose logs part from another's. */
  partings: PageParting[];
  /** HTML of the runs and mounts that stand out among those answered from, and of those left out. */
  strange: string;
  /** Sessions in which the reference cooler is out of control. */
  outOfControl: string[];
  /** How long each cooler takes to settle by its logs, min, for a plan without them. */
  logged_min: [string, number][];
  /** What a day on the bench would buy for the order shown first. */
  plan: PagePlan | null;
  /** Who is named beneath a saved chart, unless the reader types another line. */
  credit: string;
}

/**
 * Sources whose runs are fitted: the heater, from which chips are answered for too, with every chip that has coolers
 * of its own; or, on a bench without heater runs, every chip that was run.
 */
export function fittedSources(bench: Bench): string[] {
  const run = [...new Set(bench.runs.filter((one) => !isZeroLoad(one)).map((one) => one.source))];
  if (!run.includes('heater')) return run;
  return ['heater', ...run.filter((source) => source !== 'heater' && runElsewhere(bench, source))];
}

function termsOf(bench: Bench, posteriors: readonly BenchPosterior[]): Record<string, CompactTerm> {
  const heater = posteriors.find(({ source }) => source === 'heater');
  if (!heater) return {};
  return Object.fromEntries(
    bench.chips.map(({ chip }) => [chip, compactTerm(sourceTerm(heater, chip), bench.coolers)]),
  );
}

function evidenceOf(bench: Bench, posteriors: readonly BenchPosterior[]): Record<string, string> {
  const places = new Map(bench.coolers.map(({ cooler }, place) => [cooler, place]));
  const sources = new Set([
    ...posteriors.map(({ source }) => source),
    ...(posteriors.some(({ source }) => source === 'heater') ? bench.chips.map(({ chip }) => chip) : []),
  ]);
  return Object.fromEntries(
    [...sources].map((source) => {
      const posterior = posteriorFor(bench, source);
      const warnings = [...new Set([...bench.warnings, ...posterior.warnings])];
      return [source, evidence({ fit: fitResultOf(posterior, posterior.coolers), warnings, places })];
    }),
  );
}

/** The mounts as screening has them; runs without any scatter leave nothing to judge them by. */
function mountsOf(bench: Bench): Pick<PageData, 'mounts' | 'partings'> {
  try {
    const { mounts } = screen(bench);
    return {
      mounts: mounts.map(
        ({ cooler, sample, source, mount, verdict, cause, off_K_per_W, u_K_per_W, scatter_K_per_W }) => ({
          cooler,
          sample,
          source,
          mount,
          verdict,
          cause,
          off_K_per_W,
          u_K_per_W,
          scatter_K_per_W,
        }),
      ),
      partings: mounts.flatMap(({ cooler, sample, mount, cause, parting }): PageParting[] => {
        const curves = parting && partingCurves(bench, parting, bench.runs);
        const power_W = bench.runs.find(({ run }) => run === parting?.run)?.power_W ?? 0;
        return curves ? [{ ...parting, ...curves, cooler, sample, mount, cause, power_W }] : [];
      }),
    };
  } catch (error) {
    if (error instanceof RangeError || error instanceof BenchError) return { mounts: [], partings: [] };
    throw error;
  }
}

/** The page's data, from a bench and what was fitted to it. */
export function pageData(
  bench: Bench,
  posteriors: readonly BenchPosterior[],
  asked: Conditions,
  more: {
    version: string;
    hashes: readonly FileHash[];
    sections: string;
    control: ControlChartResult | null;
    credit?: string;
    whole?: Bench;
    logs?: LoggedRun[];
    surfaces?: SurfaceMap[];
  },
): PageData {
  return {
    version: more.version,
    bench: packBench(bench),
    ...(more.whole && more.whole !== bench && { whole: packBench(benchWithRuns(more.whole)) }),
    posteriors: posteriors.map(compactPosterior),
    terms: termsOf(bench, posteriors),
    asked,
    hashes: [...more.hashes],
    sections: more.sections,
    basis: basis({ bench, hashes: more.hashes, version: more.version }),
    evidence: evidenceOf(bench, posteriors),
    control: more.control,
    credit: more.credit ?? bench.name,
    outOfControl: sessionsOutOfControl(bench),
    logs: more.logs ?? (more.whole ? loggedRuns(more.whole) : []),
    surfaces: more.surfaces ?? (more.whole ? surfaceMaps(more.whole) : []),
    ...mountsOf(bench),
    strange: strangeHtml(strangeOf(bench, asked.source), asked),
    logged_min: [...loggedTimes(bench)],
    plan: pagePlan(bench, asked, asked.source ?? posteriors[0].source),
  };
}
