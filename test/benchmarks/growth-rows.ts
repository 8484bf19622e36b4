/**
 * Writes a bench of many rows: node test/benchmarks/run.mjs growth-rows FOLDER ROWS [coolers] [sessions]
 *
 * Mounts of eight runs, the first cooler the reference of every session. For timing `fit` and `sessions`.
 */
import { createWriteStream, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { makeRandom } from '../../src/lab/random.ts';

const [folder, rows, coolers = '40', sessions = '12'] = process.argv.slice(2);
const [total, many, months] = [rows, coolers, sessions].map(Number);
mkdirSync(folder, { recursive: true });
writeFileSync(join(folder, 'bench.yaml'), 'name: Many rows\nreference_cooler: C1\n');
const random = makeRandom(7);
const file = createWriteStream(join(folder, 'runs.csv'));
file.write('run,cooler,sample,mount,session,power_W,fan_rpm,source_C,ambient_C\n');
const LOADS = [60, 100, 140, 180];
const paste = Array.from({ length: months }, () => random.normal(0, 0.003));
let written = 0;
for (let mount = 1; written < total; mount++) {
  for (let c = 1; c <= many && written < total; c++) {
    const session = (mount - 1) % months;
    const fitted = random.normal(0, 0.005);
    for (const speed of [0.6, 1]) {
      for (const load of LOADS) {
        if (written++ >= total) break;
        const resistance = 0.1 + 0.004 * c * speed ** -0.7 + 4 / load / 10 + fitted + paste[session];
        const source = 22 + load * resistance + random.normal(0, 0.15);
        file.write(
          `r${written},C${c},${1 + (mount % 2)},${mount},s${session},${load},${1500 * speed},${source.toFixed(2)},22\n`,
        );
      }
    }
  }
}
file.end();
