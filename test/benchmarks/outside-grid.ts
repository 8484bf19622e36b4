/**
 * The grid of outside benches as a table for docs/coverage.md: memory of the noise × how the source follows the air × the room × length.
 * A cell gives, for logs of 700, 1,500 and 2,700 s, the share of runs called usable and how many of those are inside their interval.
 *
 * usage: outside-grid [logs of each length and cell]
 */
import { reduce } from '../../src/logs/reduce.ts';
import { benchOfLogs } from '../logs/bench-of-logs.ts';
import { seeded } from '../logs/make-logs.ts';
import { type OutsideRecipe, outsideBench, outsideCooler, outsideLog } from '../logs/outside-logs.ts';

const per = Number(process.argv[2] ?? 8);
const lengths = [700, 1500, 2700];
const memories = [1, 10, 60, 200, 600];
const laws: [string, OutsideRecipe['law']][] = [
  ['at once', 'at-once'],
  ['a lag of 90 s', 90],
  ['by shares', 'shares'],
  ['a ladder', 'ladder'],
];
const rooms: [string, Partial<OutsideRecipe>][] = [
  ['wandering, 15 min', {}],
  ['a period of 2 min', { periodic: true, sway_s: 120 }],
  ['of 10 min', { periodic: true, sway_s: 600 }],
  ['of 30 min', { periodic: true, sway_s: 1800 }],
];

let zz = 0;
let all = 0;
const usableOf = new Map<number, { inside: number; usable: number; runs: number; zz: number }>();
for (const seconds of lengths) usableOf.set(seconds, { inside: 0, usable: 0, runs: 0, zz: 0 });
console.log(`| noise forgets in | source follows the air | ${rooms.map(([name]) => name).join(' | ')} |`);
console.log(`|---|---|${rooms.map(() => '---|').join('')}`);
for (const [m, memory_s] of memories.entries())
  for (const [l, [lawName, law]] of laws.entries()) {
    const cells = rooms.map(([, room], r) => {
      const recipe = { ...outsideBench, ...room, memory_s, law };
      const made = lengths.flatMap((seconds) =>
        Array.from({ length: per }, (_, i) => {
          const seed = 900_001 * (m + 1) + 70_001 * (l + 1) + 9001 * (r + 1) + 31 * i + seconds;
          const kind = i % 2 === 0 ? 'air' : 'heavy';
          return outsideLog(
            `${seconds}-${i}.csv`,
            outsideCooler(seeded(seed), kind),
            seconds,
            recipe,
            seed + 1,
          );
        }),
      );
      const bench = benchOfLogs(Object.fromEntries(made.map((log) => [log.name, log.csv])));
      const { runs } = reduce(bench, { early_stop_K: 0 });
      return lengths
        .map((seconds) => {
          const own = runs.filter((_, i) => made[i].seconds === seconds);
          const sums = usableOf.get(seconds)!;
          let inside = 0;
          let usable = 0;
          runs.forEach((run, i) => {
            if (made[i].seconds !== seconds) return;
            const z = (run.rise_K! - made[i].rise_K) / run.u_K!;
            zz += z * z;
            all++;
            sums.runs++;
            sums.zz += z * z;
            if (!run.usable) return;
            usable++;
            if (Math.abs(z) <= 1.96) inside++;
          });
          sums.inside += inside;
          sums.usable += usable;
          return usable === 0 ? 'not usable' : `${inside}/${usable} of ${own.length}`;
        })
        .join(', ');
    });
    console.log(`| ${memory_s} s | ${lawName} | ${cells.join(' | ')} |`);
  }
for (const [seconds, { inside, usable, runs, zz: own }] of usableOf)
  console.log(
    `${seconds} s: z ${Math.sqrt(own / runs).toFixed(2)}, usable ${usable} of ${runs}, inside ${((100 * inside) / usable).toFixed(1)} %`,
  );
console.log(`all: z ${Math.sqrt(zz / all).toFixed(2)}`);
