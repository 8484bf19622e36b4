/** One timed reading or one timed reduction of the logs of a bench folder as the command line has them; prints JSON. */
import { readdirSync } from 'node:fs';
import { logsOnDisk } from '../../src/cli/logs-on-disk.ts';
import { reduce } from '../../src/logs/reduce.ts';
import { benchOfLogs } from '../logs/bench-of-logs.ts';

const [, , folder, what] = process.argv;
const start = performance.now();
const names = readdirSync(`${folder}/logs`)
  .filter((name) => name.endsWith('.csv'))
  .sort();
const bench = benchOfLogs(names);
const scans = logsOnDisk(folder, bench);
let rows = 0;
let runs = 0;
let usable = 0;
if (what === 'read') {
  for (const name of names) rows += scans.get(name)?.totalRows ?? 0;
} else {
  const result = reduce(bench, { scans });
  runs = result.runs.length;
  usable = result.runs.filter((run) => run.usable).length;
}
console.log(JSON.stringify({ seconds: (performance.now() - start) / 1000, rows, runs, usable }));
