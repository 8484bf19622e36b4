/**
 * How often the control chart of the reference cooler raises a false alarm, how soon it finds a lasting shift of 1 K, and what it says
 * after one bad session, on virtual benches: `node test/benchmarks/run.mjs control-chart [benches] [first seed]`.
 *
 * Nine sessions of one fitting of the reference at three loads; what happens sets in at the sixth. The scatters of fittings and readings
 * are the bench's own estimates before anything happens; the sensors settle to 0.1 or to 0.3 K between sessions.
 */
import type { Bench } from '../../src/bench/bench.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { labData } from '../../src/lab/lab-data.generated.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { controlChart } from '../../src/months/control-chart.ts';

const SESSIONS = ['1', '2', '3', '4', '5', '6', '7', '8', '9'];
const ONSET = 5;
const [benches = '40', first = '1'] = process.argv.slice(2);

/** What the sensors of a session read too high, by sessions since the onset. */
const EVENTS: Record<string, (since: number) => number> = {
  'no shift': () => 0,
  'shift of 1 K': () => 1,
  'ramp of 1/3 K a session': (since) => (since + 1) / 3,
  'one session 1.5 K off': (since) => (since === 0 ? 1.5 : 0),
};

function benchOf(seed: number, sensor_K: number): Bench {
  const each_K = sensor_K / Math.SQRT2;
  const { files } = makeVirtualBench({
    seed,
    coolers: labData.coolers.filter(({ cooler }) => ['Rowan', 'Siskin', 'Whimbrel'].includes(cooler)),
    sessions: SESSIONS,
    reference_cooler: 'Rowan',
    mounts: 3,
    scatter: { session_K_per_W: 0.0019 },
    instruments: { source_systematic_K: each_K, ambient_systematic_K: each_K },
  });
  const bench = readBench(files);
  bench.instruments.source_temperature.systematic_K = 0.5;
  // One fitting of the reference in each session: those dealt to it as an ordinary cooler go.
  bench.runs = bench.runs.filter((run) => run.cooler !== 'Rowan' || run.mount?.startsWith('ref-'));
  return bench;
}

const percent = (n: number, of: number) => `${((100 * n) / Math.max(of, 1)).toFixed(1)} %`;
console.log(
  '| sensors settle to | chart | what happens | histories with a false alarm before it | found in the first, second, third session | healthy sessions after it flagged |',
);
console.log('|---|---|---|---|---|---|');
for (const sensor_K of [0.1, 0.3]) {
  const drawn = Array.from({ length: Number(benches) }, (_, k) => {
    const bench = benchOf(Number(first) + k, sensor_K);
    const { mount_K_per_W, reading_K } = controlChart(bench).scatter;
    return { bench, scatter: { mount_K_per_W, reading_K } };
  });
  for (const form of ['EWMA', 'Shewhart'] as const) {
    for (const [event, off] of Object.entries(EVENTS)) {
      const isQuiet = event === 'no shift';
      let alarms = 0;
      let flagged = 0;
      let healthy = 0;
      const within = [0, 0, 0];
      for (const { bench, scatter } of drawn) {
        const runs = bench.runs.map((run) => {
          const since = Number(run.session) - 1 - ONSET;
          return { ...run, source_C: run.source_C + (since >= 0 ? off(since) : 0) };
        });
        const { series } = controlChart({ ...bench, runs }, { form, scatter });
        const out = SESSIONS.map((_, k) => series.some(({ points }) => points[k].state === 'out of control'));
        if (out.slice(0, isQuiet ? SESSIONS.length : ONSET).includes(true)) alarms++;
        const found = out.indexOf(true, ONSET);
        for (let k = 0; k < 3; k++) if (found >= 0 && found <= ONSET + k) within[k]++;
        if (event.startsWith('one')) {
          healthy += out.length - ONSET - 1;
          flagged += out.slice(ONSET + 1).filter(Boolean).length;
        }
      }
      const told = isQuiet ? '' : within.map((n) => percent(n, drawn.length)).join(', ');
      const after = healthy === 0 ? '' : `${flagged} of ${healthy}`;
      console.log(
        `| ${sensor_K} K | ${form} | ${event} | ${alarms} of ${drawn.length} | ${told} | ${after} |`,
      );
    }
  }
}
