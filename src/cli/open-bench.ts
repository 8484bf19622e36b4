import type { Bench } from '../bench/bench.ts';
import { readBenchFolder } from './read-folder.ts';

/**
 * The bench of a folder. The library that knows every unit is slow to load and is loaded only for a column whose unit
 * is not listed.
 *
 * @throws BenchError at the first fault of the folder or its files
 */
export async function openBench(folder: string): Promise<Bench> {
  const files = readBenchFolder(folder);
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
  return readBench(files);
}
