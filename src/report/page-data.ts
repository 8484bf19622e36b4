import type { Bench } from '../bench/bench.ts';
import { isZeroLoad } from '../bench/run.ts';
import type { BenchPosterior } from '../posterior/bench-posterior.ts';
import { type CompactPosterior, compactPosterior } from '../posterior/compact.ts';
import type { Conditions } from '../results.ts';
import type { ControlChartResult } from '../session-results.ts';
import { runElsewhere } from '../sources/chip-posterior.ts';
import { type PackedBench, packBench } from './bench-pack.ts';

/** A file that the answers stand on, by its SHA-256 in hexadecimal digits. */
export interface FileHash {
  file: string;
  sha256: string;
}

/**
 * What the page holds: the bench and its posteriors. Everything it shows is computed from these by the functions that
 * the command line calls, at whatever conditions the reader sets.
 */
export interface PageData {
  version: string;
  bench: PackedBench;
  /** One for each source of `fittedSources`. */
  posteriors: CompactPosterior[];
  /** The conditions shown first. */
  asked: Conditions;
  /** Empty where nobody computed them. */
  hashes: FileHash[];
  /** HTML of what no control moves; see `fixedSections` and `recordSection`. */
  sections: string;
  /** See `referenceControl`. */
  control: ControlChartResult | null;
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
  },
): PageData {
  return {
    version: more.version,
    bench: packBench(bench),
    posteriors: posteriors.map(compactPosterior),
    asked,
    hashes: [...more.hashes],
    sections: more.sections,
    control: more.control,
  };
}
