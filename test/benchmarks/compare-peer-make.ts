/** Bench of compare-peer.mjs: coolers at four loads and four speeds, 16 runs each. usage: FOLDER [coolers] */
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';

const [folder, coolers = '40'] = process.argv.slice(2);
const { files } = makeVirtualBench({
  seed: 40,
  coolers: Number(coolers),
  samples: 1,
  mounts: 1,
  loads_W: [60, 100, 140, 180],
  speeds: [0.45, 0.6, 0.8, 1],
});
mkdirSync(folder, { recursive: true });
for (const [name, bytes] of files) writeFileSync(join(folder, name), bytes);
