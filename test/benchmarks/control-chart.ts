/**
 * How often the control chart of the reference cooler raises a false alarm, and how soon it finds a lasting shift of 1 K,
 * on virtual benches: `node test/benchmarks/run.mjs control-chart [benches] [first seed]`.
 *
 * Nine sessions of one fitting of the reference at three loads; the shift sets in at the sixth. Scatters are the bench's own
 * estimates, as a user has them.
 */
import { readBench } from '../../src/bench/read-bench.ts';
import { labData } from '../../src/lab/lab-data.generated.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { controlChart } from '../../src/sessions/control-chart.ts';

const SESSIONS = ['1', '2', '3', '4', '5', '6', '7', '8', '9'];
const [benches = '40', first = '1'] = process.argv.slice(2);

for (const form of ['EWMA', 'Shewhart'] as const) {
  for (const shift_K of [0, 1, 'ramp'] as const) {
    let alarms = 0;
    let judged = 0;
    let found = 0;
    const within = [0, 0, 0];
    for (let seed = Number(first); seed < Number(first) + Number(benches); seed++) {
      const { files } = makeVirtualBench({
        seed,
        coolers: labData.coolers.filter(({ cooler }) => ['Rowan', 'Siskin', 'Whimbrel'].includes(cooler)),
        sessions: SESSIONS,
        reference_cooler: 'Rowan',
        mounts: 3,
        scatter: { session_K_per_W: 0.0019 },
        instruments: { source_systematic_K: 0.07, ambient_systematic_K: 0.07 },
      });
      const bench = readBench(files);
      bench.instruments.source_temperature.systematic_K = 0.5;
      for (const run of bench.runs) {
        const late = Number(run.session) - 5;
        if (late > 0) run.source_C += shift_K === 'ramp' ? late / 3 : shift_K;
      }
      // One fitting of the reference in each session: those dealt to it as an ordinary cooler go.
      bench.runs = bench.runs.filter((run) => run.cooler !== 'Rowan' || run.mount?.startsWith('ref-'));
      const chart = controlChart(bench, { form });
      const states = SESSIONS.map((_, k) =>
        chart.series.some(({ points }) => points[k].state === 'out of control'),
      );
      const early = states.indexOf(true);
      const quiet = shift_K === 0 ? states : states.slice(0, 5);
      const alarm = quiet.indexOf(true);
      if (alarm >= 0) alarms++;
      judged += alarm >= 0 ? alarm : quiet.length - 1;
      if (shift_K !== 0 && alarm < 0) {
        found++;
        for (let k = 0; k < 3; k++) if (early >= 5 && early <= 5 + k) within[k]++;
      }
    }
    const name = shift_K === 0 ? 'no shift' : shift_K === 1 ? 'shift of 1 K' : 'ramp of 1/3 K a session';
    const share = within.map((n) => `${((100 * n) / Math.max(found, 1)).toFixed(1)} %`).join(', ');
    console.log(
      `${form} ${name}: false alarms ${alarms} in ${judged} sessions (${((100 * alarms) / judged).toFixed(2)} %)` +
        (shift_K === 0 ? '' : `; found within one, two, three sessions: ${share} of ${found}`),
    );
  }
}
