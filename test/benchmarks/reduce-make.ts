/** Writes 320 logs of 1,500 rows into a folder: `node --experimental-strip-types test/benchmarks/reduce-make.ts FOLDER`. */
import { mkdirSync, writeFileSync } from 'node:fs';
import { makeLog, randomRecipe, seeded } from '../logs/make-logs.ts';

const folder = process.argv[2];
mkdirSync(folder, { recursive: true });
for (let i = 0; i < 320; i++) {
  const uniform = seeded(1000 + i);
  const recipe = { ...randomRecipe(uniform, 'any', 1500), idle_s: 0, gaps: undefined };
  writeFileSync(`${folder}/log-${String(i).padStart(3, '0')}.csv`, makeLog(recipe, uniform).csv);
}
