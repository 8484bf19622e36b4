import type { Bench } from '../bench/bench.ts';
import type { LogScans } from '../reduction/reduce.ts';
import { startProgress } from './progress.ts';
import { readBenchFolder } from './read-folder.ts';

/** A bench as its files give it, and where the logs that they name are had from. */
export interface OpenFolder {
  readonly bench: Bench;
  readonly scans: LogScans;
}

/**
 * The bench of a folder, its logs left on the disk. The library that knows every unit and reads formulas is slow to load
 * and is loaded only for a column whose unit is not listed and for a lab's own models.
 *
 * @throws BenchError at the first fault of the folder or its files
 */
export async function openFolder(folder: string): Promise<OpenFolder> {
  const files = readBenchFolder(folder, { logs: 'heads' });
  const [{ readBench }, { unlistedUnits }] = await Promise.all([
    import('../bench/read-bench.ts'),
    import('../bench/unlisted-units.ts'),
  ]);
  if (unlistedUnits(files).length > 0) {
    const [{ registerUnitConverter }, { loadUnitConverter }] = await Promise.all([
      import('../bench/quantity.ts'),
      import('../bench/mathjs-units.ts'),
    ]);
    registerUnitConverter(await loadUnitConverter());
  }
  const bench: Bench = { ...readBench(files), logFiles: new Map() };
  if (bench.modelFiles.size > 0) {
    const [{ useModelReader }, { readModel }] = await Promise.all([
      import('../posterior/models-of.ts'),
      import('../model/read-model.ts'),
    ]);
    useModelReader(readModel);
  }
  if (bench.logs.length === 0) return { bench, scans: new Map() };
  const { logsOnDisk } = await import('./logs-on-disk.ts');
  return { bench, scans: logsOnDisk(folder) };
}

/**
 * The bench of a folder as commands that answer need it: without runs.csv the logs are reduced in memory.
 *
 * @throws BenchError at the first fault of the folder or its files
 */
export async function openBench(folder: string): Promise<Bench> {
  return reduceWhereNeeded(await openFolder(folder));
}

/** A bench that has logs and no runs with the runs of its logs, which a line on standard error counts. */
export async function reduceWhereNeeded({ bench, scans }: OpenFolder): Promise<Bench> {
  if (bench.runs.length > 0 || bench.logs.length === 0) return bench;
  const { benchWithRuns } = await import('../reduction/bench-with-runs.ts');
  const progress = await startProgress('logs reduced');
  try {
    return benchWithRuns(bench, { scans, onProgress: progress.at });
  } finally {
    progress.end();
  }
}
