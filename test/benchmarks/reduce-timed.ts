/** One timed reading or one timed reduction of the logs of a bench folder as the command line has them; prints JSON. */
import { readdirSync } from 'node:fs';
import type { Bench } from '../../src/bench/bench.ts';
import { logsOnDisk } from '../../src/cli/logs-on-disk.ts';
import { reduce } from '../../src/reduction/reduce.ts';

const [, , folder, what] = process.argv;
const start = performance.now();
const scans = logsOnDisk(folder);
const names = readdirSync(`${folder}/logs`)
  .filter((name) => name.endsWith('.csv'))
  .sort();
let rows = 0;
let runs = 0;
let usable = 0;
if (what === 'read') {
  for (const name of names) rows += scans.get(name)?.totalRows ?? 0;
} else {
  const bench: Bench = {
    name: 'timed',
    ambient: { setpoint_C: 22, tolerance_K: 1 },
    instruments: {
      source_temperature: { systematic_K: 0.5, resolution_K: 0.1 },
      ambient_temperature: { systematic_K: 0.3, resolution_K: 0.1 },
      power: { systematic_percent: 0.5 },
      sound_level: { systematic_dB: 1 },
    },
    heater: { leak_W_per_K: { value: 0, uncertainty: 0.05 } },
    chips: [],
    methods: [],
    sessions: [],
    runs: [],
    coolers: [],
    noise: [],
    flatness: [],
    logs: names.map((log, i) => ({
      run: log,
      cooler: 'a',
      sample: '1',
      source: 'heater',
      log,
      extra: {},
      line: i + 2,
    })),
    logFiles: new Map(),
    modelFiles: new Map(),
    warnings: [],
    files: [],
  };
  const result = reduce(bench, { scans });
  runs = result.runs.length;
  usable = result.runs.filter((run) => run.usable).length;
}
console.log(JSON.stringify({ seconds: (performance.now() - start) / 1000, rows, runs, usable }));
