/**
 * Where a fault sits by the logs of two mounts: how often the share by which they have parted lies where its cause says, and which cause it speaks for.
 *
 * Run: node test/benchmarks/run.mjs parting [pairs a kind] [first seed]; SHOW=1 lists all
 */
import type { Run } from '../../src/bench/bench.ts';
import { partingLogs, partingOfMount } from '../../src/screen/parting.ts';
import { benchOfLogs } from '../logs/bench-of-logs.ts';
import { logsThatPart, PARTING_KINDS } from '../screen/parting-logs.ts';

const [pairs = '25', first = '1'] = process.argv.slice(2);
for (const kind of PARTING_KINDS) {
  let told = 0;
  let inside = 0;
  const named = new Map<string, number>();
  for (let i = 0; i < Number(pairs); i++) {
    const { mate, odd } = logsThatPart(kind, Number(first) + i);
    const bench = benchOfLogs({ 'mate.csv': mate, 'odd.csv': odd });
    const power = (text: string) => Number(text.trimEnd().split('\n').at(-1)?.split(',')[3]);
    const run = (name: string, text: string) => ({ run: name, power_W: power(text), fan_rpm: 1200 }) as Run;
    const found = partingOfMount(bench, [run('r2', odd)], [run('r1', mate)]);
    if (!found) continue;
    told++;
    const { share, u, expected } = found;
    if (process.env.SHOW)
      console.log(kind, found.at_s.toFixed(0), share.toFixed(2), u.toFixed(3), JSON.stringify(expected));
    if (Math.abs(share - expected[kind]) < 1.96 * Math.hypot(u, 0.08)) inside++;
    const likeliest = PARTING_KINDS.reduce((a, b) => (partingLogs(found, b) > partingLogs(found, a) ? b : a));
    named.set(likeliest, (named.get(likeliest) ?? 0) + 1);
  }
  console.log(
    `${kind}: told ${told} of ${pairs}, inside ${inside}, likeliest ${[...named].map(([k, n]) => `${k} ${n}`).join(', ')}`,
  );
}
