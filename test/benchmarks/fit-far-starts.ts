/**
 * Fits of the NIST sets from starts scattered about the published ones: node test/benchmarks/run.mjs fit-far-starts
 * [decades = 1] [starts a set = 20] [seed = 12345]
 */
import { farStarts } from './far-starts-study.ts';

const [decades = 1, repeats = 20, seed = 12345] = process.argv.slice(2).map(Number);
const sets = farStarts(decades, repeats, seed);
console.log(
  '| Set | found | refused | elsewhere, warned | elsewhere, in silence |\n| --- | --- | --- | --- | --- |',
);
const total = { found: 0, refused: 0, warned: 0, silent: 0 };
for (const [name, count] of sets) {
  for (const kind of ['found', 'refused', 'warned', 'silent'] as const) total[kind] += count[kind];
  console.log(`| ${[name, count.found, count.refused, count.warned, count.silent].join(' | ')} |`);
}
console.log(`| all | ${total.found} | ${total.refused} | ${total.warned} | ${total.silent} |`);
