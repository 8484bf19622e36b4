import type { Bench } from '../bench/bench.ts';
import { startProgress } from './progress.ts';
import { readBenchFolder } from './read-folder.ts';

/**
 * The bench of a folder as its files give it, its logs left on the disk until they are asked for. The library that knows
 * every unit and reads formulas is slow to load and is loaded only for a column whose unit is not listed and for a lab's
 * own models.
 *
 * @throws BenchError at the first fault of the folder or its files
 */
export async function openFolder(folder: string, options: { allowEmpty?: boolean } = {}): Promise<Bench> {
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
  const bench: Bench = { ...readBench(files, options), logFiles: new Map() };
  if (bench.modelFiles.size > 0) {
    const [{ useModelReader }, { readModel }] = await Promise.all([
      import('../fit/models-of.ts'),
      import('../formula/read-model.ts'),
    ]);
    useModelReader(readModel);
  }
  if (bench.logs.length > 0) {
    const [{ logsFrom }, { logsOnDisk }] = await Promise.all([
      import('../logs/log-source.ts'),
      import('./logs-on-disk.ts'),
    ]);
    logsFrom(bench, logsOnDisk(folder, bench));
  }
  return bench;
}

/**
 * The bench of a folder as commands that answer need it: without runs.csv the logs are reduced in memory, and where the fit takes seconds
 * it is made here, counted on standard error.
 *
 * @throws BenchError at the first fault of the folder or its files
 */
export async function openBench(folder: string): Promise<Bench> {
  const bench = await reducedWhereNeeded(await openFolder(folder));
  if (bench.runs.length > MANY_RUNS) {
    const { posteriorOf } = await import('../fit/posterior-of.ts');
    const progress = await startProgress('fits');
    try {
      posteriorOf(bench, 'heater', progress.at);
    } finally {
      progress.end();
    }
  }
  return bench;
}

/** Above this the fit takes a second or more. */
const MANY_RUNS = 1000;

/** A bench that has logs and no runs with the runs of its logs, which a line on standard error counts. */
export async function reducedWhereNeeded(bench: Bench): Promise<Bench> {
  if (bench.runs.length > 0 || bench.logs.length === 0) return bench;
  const { benchWithRuns } = await import('../logs/bench-with-runs.ts');
  const progress = await startProgress('logs reduced');
  try {
    return benchWithRuns(bench, progress.at);
  } finally {
    progress.end();
  }
}
