/**
 * What a plan buys over spreading the loads evenly over the coolers in the same hours, on virtual benches of close coolers.
 *
 * Run: node test/benchmarks/run.mjs plan-gain [benches] [first seed] [hours] [settings]
 */
import { plan } from '../../src/design/plan.ts';
import { rehearse } from '../../src/design/rehearse.ts';
import { closeBench, type Doable, done, evenSpread, judged, SETTINGS } from './plan-study.ts';

/** Each plan is carried out so often, with other mounts and readings. */
const REPEATS = 6;

const [benches = '20', first = '1', hours = '10', ...settings] = process.argv.slice(2);

for (const name of settings.length > 0 ? settings : Object.keys(SETTINGS)) {
  const tally = new Map<string, { wanted: number; wrong: number }>();
  const add = (key: string, { wanted, wrong }: { wanted: number; wrong: number }) => {
    const at = tally.get(key) ?? { wanted: 0, wrong: 0 };
    tally.set(key, { wanted: at.wanted + wanted, wrong: at.wrong + wrong });
  };
  let wanted = 0;
  let expected = 0;
  let rehearsed = 0;
  let happened = 0;
  let pairs = 0;
  let squares = 0;
  let worst = 0;
  let elapsed = 0;
  for (let b = 0; b < Number(benches); b++) {
    const close = closeBench(name, Number(first) + b);
    const { setting } = close;
    const judge = judged(close);
    wanted += judge.wanted.size;
    const begin = performance.now();
    const options = { target_W: setting.target_W, hours: Number(hours) };
    const planned = plan(close.bench, options);
    elapsed += performance.now() - begin;
    const less = plan(close.bench, { ...options, hours: (2 / 3) * Number(hours) });
    const rivals: [string, readonly Doable[]][] = [
      ['plan', planned.runs],
      ['plan, 2/3 of the hours', less.runs],
      ['even, 3 loads a mount', evenSpread(close, Number(hours), 3, 3)],
      ['even, 1 load a mount', evenSpread(close, Number(hours), 3, 1)],
      ['even, at the target alone', evenSpread(close, Number(hours), 1, 1)],
    ];
    for (let repeat = 0; repeat < REPEATS; repeat++) {
      for (const [key, runs] of rivals) {
        const told = judge.told(done(close, runs, `run/${repeat}`));
        add(key, told);
        if (key === 'plan') happened += told.all / REPEATS;
      }
    }
    const trial = rehearse(close.bench, { runs: planned.runs, repeats: 200, power_W: [setting.target_W] });
    expected += planned.expected.resolved_after;
    rehearsed += trial.resolved_mean;
    planned.expected.pairs.forEach((pair, k) => {
      const apart = pair.resolved_chance - trial.pairs[k].resolved_fraction;
      squares += apart * apart;
      worst = Math.max(worst, Math.abs(apart));
      pairs++;
    });
  }
  const share = (count: number) => `${((100 * count) / pairs).toFixed(1)} %`;
  console.log(
    `${name}: ${benches} benches, ${hours} h, ${wanted} pairs over 1 K apart and unresolved; ${(elapsed / Number(benches)).toFixed(0)} ms a plan`,
  );
  for (const [key, { wanted: told, wrong }] of tally) {
    console.log(
      `  ${key.padEnd(26)} told apart ${told} (${((100 * told) / wanted / REPEATS).toFixed(1)} %), wrong way ${wrong}`,
    );
  }
  console.log(
    `  resolved of all pairs: predicted ${share(expected)}, rehearsed ${share(rehearsed)}, happened ${share(happened)}; pair by pair predicted less rehearsed: rms ${(100 * Math.sqrt(squares / pairs)).toFixed(1)} points, worst ${(100 * worst).toFixed(0)}`,
  );
}
