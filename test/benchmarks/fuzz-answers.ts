/**
 * Odd benches through fit, predict and compare, and every tenth through screen, plan and rehearse:
 * node test/benchmarks/run.mjs fuzz-answers [benches] [seed]
 */
import { writeFileSync } from 'node:fs';
import fc from 'fast-check';
import { askEverything, type Tally } from '../hardening/answers.ts';
import { oddBench } from '../hardening/odd-benches.ts';

const shown = (files: Map<string, Uint8Array>) =>
  Array.from(files, ([name, bytes]) => `== ${name}\n${Buffer.from(bytes)}`).join('\n');
const [count = '300', seed = '1'] = process.argv.slice(2);
const tally: Tally = { answered: 0, refused: 0 };
const faults = new Map<string, { count: number; files: string }>();
let slowest = 0;
fc.sample(oddBench, { numRuns: Number(count), seed: Number(seed) }).forEach((files, k) => {
  const before = process.cpuUsage();
  if (process.env.FUZZ_TRACE) writeFileSync(process.env.FUZZ_TRACE, shown(files));
  try {
    askEverything(files, tally, k % 10 === 0);
  } catch (error) {
    const what = (error as Error).message
      .split('\n')
      .filter((line) => !line.includes('askEverything'))
      .slice(0, 4)
      .join(' | ')
      .slice(0, 500);
    const key = what.replace(/\d+/g, '#').slice(0, 160);
    const known = faults.get(key);
    if (known) known.count++;
    else faults.set(key, { count: 1, files: `${what}\n${shown(files)}` });
  }
  slowest = Math.max(slowest, process.cpuUsage(before).user / 1e6);
});
for (const { count: times, files } of faults.values()) console.log(`FAULT (${times} times) ${files}\n`);
console.log(
  `${count} benches, ${tally.answered} answers, ${tally.refused} refusals, ${faults.size} kinds of fault, slowest bench ${slowest.toFixed(2)} s`,
);
if (faults.size > 0) process.exitCode = 1;
