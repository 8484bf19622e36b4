/**
 * Whether a rehearsal comes true: plans carried out on the lab as it truly is, the same truth each time with other fittings and readings.
 *
 * Of the pairs that are open before the plan: in fifths of the chance that the rehearsal gave them, how many were told apart. The standard error is
 * that which the forecasts themselves imply, from the truths drawn of each bench, since the pairs of one share its truth. Of the share of all pairs that are told apart on a bench: how often the rehearsal is within 5
 * points of it and by how much it is off (root mean square), for one course and for the mean over the courses, which leaves out the luck of fittings
 * and readings. Beside it the same for truths drawn from what is believed, which is the best that a forecast from these runs can reach, since a bench
 * has one truth of those that the runs allow; and how far one course lies from the mean of the others, which a forecast would be off by that knew the truth.
 *
 * Run: node test/benchmarks/run.mjs plan-calibration [benches] [first seed] [hours] [settings, see closeBench; those joined by + are taken together]
 */
import { compareFrom } from '../../src/compare/compare.ts';
import { plan } from '../../src/design/plan.ts';
import { planTask } from '../../src/design/plan-task.ts';
import { plannedOf, trialOf } from '../../src/design/rehearse.ts';
import { posteriorOf } from '../../src/fit/posterior-of.ts';
import { makeRandom } from '../../src/lab/random.ts';
import { closeBench, done, SETTINGS } from './plan-study.ts';

const [benches = '40', first = '1', hours = '10', ...settings] = process.argv.slice(2);
/** Courses on the lab of each bench; truths drawn of it, and courses of each. */
const REPEATS = 8;
const TRUTHS = 80;
const COURSES = 8;
const BINS = 5;
const POINTS = 5;

const mean = (values: readonly number[]) => values.reduce((sum, one) => sum + one, 0) / values.length;
const points = (share: number) => (100 * share).toFixed(1);

/** Forecasts less what happened: within so many points, and the root mean square. */
class Misses {
  private readonly own: { off: number; weight: number }[] = [];
  add(off: number, weight = 1) {
    this.own.push({ off, weight });
  }
  private share(of: (off: number) => number) {
    const all = this.own.reduce((sum, { weight }) => sum + weight, 0);
    return this.own.reduce((sum, { off, weight }) => sum + weight * of(off), 0) / all;
  }
  get text() {
    const within = this.share((off) => (Math.abs(off) <= POINTS / 100 ? 1 : 0));
    const square = this.share((off) => off * off);
    return `within ${POINTS} points ${(100 * within).toFixed(0)} %, rms ${points(Math.sqrt(square))}, mean ${points(this.share((off) => off))}`;
  }
}

for (const name of settings.length > 0 ? settings : Object.keys(SETTINGS)) {
  const bins = Array.from({ length: BINS }, () => ({ pairs: 0, foreseen: 0, happened: 0, variance: 0 }));
  const misses = {
    'one course': new Misses(),
    'mean of the courses': new Misses(),
    'one course, truth as believed': new Misses(),
    'mean of the courses, truth as believed': new Misses(),
    'one course, truth known': new Misses(),
  };
  const all = name
    .split('+')
    .flatMap((one) => Array.from({ length: Number(benches) }, (_, b) => closeBench(one, Number(first) + b)));
  for (const close of all) {
    const power_W = [close.setting.target_W];
    const options = { target_W: power_W, hours: Number(hours) };
    const { runs, expected } = plan(close.bench, options);
    const task = planTask(close.bench, options, power_W);
    const trial = trialOf(task, plannedOf(task, { runs }));
    const places = task.coolers.flatMap((_, i) => task.coolers.slice(i + 1).map((__, k) => [i, i + 1 + k]));

    const random = makeRandom(close.seed).split('calibration');
    const chance = places.map(() => 0);
    /** Of each truth drawn and pair, in how many courses it was told apart. */
    const counts = Array.from({ length: TRUTHS }, () => places.map(() => 0));
    const drawn = counts.map((count, t) => {
      const truth = random.split(`truth/${t}`);
      return Array.from({ length: COURSES }, (__, k) => {
        const told = trial(truth, random.split(`course/${t}/${k}`));
        const is = places.map(([i, j]) => (told(i, j, 0) === 0 ? 0 : 1));
        is.forEach((one, pair) => {
          chance[pair] += one / TRUTHS / COURSES;
          count[pair] += one;
        });
        return mean(is);
      });
    });
    const forecast = mean(chance);
    for (const courses of drawn) {
      misses['mean of the courses, truth as believed'].add(forecast - mean(courses), 1 / TRUTHS);
      for (const one of courses) {
        misses['one course, truth as believed'].add(forecast - one, 1 / TRUTHS / COURSES);
      }
    }

    const told = places.map(() => 0);
    const happened = Array.from({ length: REPEATS }, (_, repeat) => {
      const { pairs } = compareFrom(posteriorOf(done(close, runs, `run/${repeat}`)), { power_W });
      const is = pairs.map(({ resolved }) => (resolved.length > 0 ? 1 : 0));
      is.forEach((one, k) => {
        told[k] += one / REPEATS;
      });
      return mean(is);
    });
    const middle = mean(happened);
    misses['mean of the courses'].add(forecast - middle);
    for (const one of happened) {
      misses['one course'].add(forecast - one, 1 / REPEATS);
      misses['one course, truth known'].add((REPEATS * middle - one) / (REPEATS - 1) - one, 1 / REPEATS);
    }
    const open = places.flatMap((_, k) => (expected.pairs[k].resolved_now ? [] : [k]));
    bins.forEach((bin, n) => {
      const own = open.filter((k) => Math.min(BINS - 1, Math.floor(BINS * chance[k])) === n);
      const sum = (of: readonly number[]) => own.reduce((total, k) => total + of[k], 0);
      bin.pairs += own.length;
      bin.foreseen += sum(chance);
      bin.happened += sum(told);
      bin.variance += mean(counts.map((count) => (sum(count) / COURSES - sum(chance)) ** 2));
    });
  }
  console.log(`${name}: ${all.length} benches, ${hours} h; forecast less what happened, share of all pairs`);
  for (const [what, { text }] of Object.entries(misses)) console.log(`  ${what}: ${text}`);
  bins.forEach(({ pairs, foreseen, happened, variance }, k) => {
    const error = Math.sqrt(variance);
    console.log(
      `  ${(100 * k) / BINS} to ${(100 * (k + 1)) / BINS} %: ${pairs} pairs, foreseen ${points(foreseen / pairs)} ± ${points(error / pairs)}, happened ${points(happened / pairs)} % (${((happened - foreseen) / error).toFixed(1)})`,
    );
  });
}
