/**
 * Whether a rehearsal's chances by pair come true: plans carried out on the lab as it truly is, the pairs of all benches in fifths of the chance that the
 * rehearsal gave them. Pairs that are told apart before the plan are left out. The standard error is over benches, since the pairs of one share its truth.
 *
 * Run: node test/benchmarks/run.mjs plan-calibration [benches] [first seed] [hours] [settings]
 */
import { compareFrom } from '../../src/compare/compare.ts';
import { plan } from '../../src/design/plan.ts';
import { rehearse } from '../../src/design/rehearse.ts';
import { posteriorOf } from '../../src/fit/posterior-of.ts';
import { closeBench, done, SETTINGS } from './plan-study.ts';

const [benches = '40', first = '1', hours = '10', ...settings] = process.argv.slice(2);
/** Fittings and readings are drawn so often for each bench, whose truth is one. */
const REPEATS = 3;
const BINS = 5;

for (const name of settings.length > 0 ? settings : Object.keys(SETTINGS)) {
  /** By bin and bench: pairs, the sum of their chances, how many were told apart. */
  const bins = Array.from({ length: BINS }, () => new Map<number, [number, number, number]>());
  let within = 0;
  for (let b = 0; b < Number(benches); b++) {
    const close = closeBench(name, Number(first) + b);
    const power_W = [close.setting.target_W];
    const { runs, expected } = plan(close.bench, { target_W: power_W, hours: Number(hours) });
    const trial = rehearse(close.bench, { runs, repeats: 300, power_W });
    const told = trial.pairs.map(() => 0);
    for (let repeat = 0; repeat < REPEATS; repeat++) {
      const { pairs } = compareFrom(posteriorOf(done(close, runs, `run/${repeat}`)), { power_W });
      pairs.forEach(({ resolved }, k) => {
        told[k] += resolved.length > 0 ? 1 / REPEATS : 0;
      });
    }
    const sum = told.reduce((all, one) => all + one, 0);
    if (Math.abs(sum - trial.resolved_mean) <= 0.05 * told.length) within++;
    expected.pairs.forEach(({ resolved_now }, k) => {
      if (resolved_now) return;
      const chance = trial.pairs[k].resolved_fraction;
      const bin = bins[Math.min(BINS - 1, Math.floor(BINS * chance))];
      const [count, foreseen, happened] = bin.get(b) ?? [0, 0, 0];
      bin.set(b, [count + 1, foreseen + chance, happened + told[k]]);
    });
  }
  console.log(`${name}: ${benches} benches, ${hours} h, mean share within 5 points on ${within} of them`);
  bins.forEach((bin, k) => {
    const of = [...bin.values()];
    const pairs = of.reduce((sum, [count]) => sum + count, 0);
    const foreseen = of.reduce((sum, [, one]) => sum + one, 0) / pairs;
    const happened = of.reduce((sum, [, , one]) => sum + one, 0) / pairs;
    const square = of.reduce((sum, [count, , one]) => sum + (one - happened * count) ** 2, 0);
    const points = (share: number) => (100 * share).toFixed(1);
    console.log(
      `  ${(100 * k) / BINS} to ${(100 * (k + 1)) / BINS} %: ${pairs} pairs, foreseen ${points(foreseen)}, happened ${points(happened)} ± ${points(Math.sqrt(square) / pairs)} %`,
    );
  });
}
