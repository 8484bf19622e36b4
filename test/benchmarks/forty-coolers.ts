/**
 * Writes a bench of 40 coolers and 640 runs into a folder, for timing: node test/benchmarks/run.mjs forty-coolers FOLDER [coolers]
 */
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';

const [folder, coolers = '40'] = process.argv.slice(2);
const { files } = makeVirtualBench({
  seed: 40,
  coolers: Number(coolers),
  samples: 2,
  mounts: 2,
  loads_W: [60, 100, 140, 180],
  speeds: [1],
  heaterLeak: { value: 0.05, uncertainty: 0.01 },
});
mkdirSync(folder, { recursive: true });
for (const [name, bytes] of files) writeFileSync(join(folder, name), bytes);
