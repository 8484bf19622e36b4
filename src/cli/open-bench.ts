import type { Bench } from '../bench/bench.ts';
import { readBenchFolder } from './read-folder.ts';

/**
 * The bench of a folder. The library that knows every unit and reads formulas is slow to load and is loaded only for a
 * column whose unit is not listed and for a lab's own models.
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
  const bench = readBench(files);
  if (bench.modelFiles.size > 0) {
    const [{ useModelReader }, { readModel }] = await Promise.all([
      import('../posterior/models-of.ts'),
      import('../model/read-model.ts'),
    ]);
    useModelReader(readModel);
  }
  return bench;
}
