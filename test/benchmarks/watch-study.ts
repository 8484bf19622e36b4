/** usage: watch-study [benches of five logs] [seed] [limit in K] */
import { realOutcomes, summary, virtualOutcomes } from '../logs/stop-study.ts';

const benches = Number(process.argv[2] ?? 40);
const limit_K = Number(process.argv[4] ?? 0.3);
const start = performance.now();
const virtual = virtualOutcomes(benches, Number(process.argv[3] ?? 1), limit_K);
console.log(
  'virtual',
  summary(virtual, limit_K),
  `${((performance.now() - start) / virtual.length).toFixed(0)} ms a log`,
);
const missed = virtual.filter(({ stop }) => stop && Math.abs(stop.off_K) > limit_K);
for (const { of, stop } of missed) console.log('missed', of, stop);
for (const outcome of realOutcomes(limit_K)) console.log('real', outcome);
