/**
 * Planning after every visit against every cooler in turn at the target, both looked at after every visit by the same test, on benches carried out on
 * the lab as it truly is: hours until the question is answered, right answers, false decisions.
 *
 * Run: node test/benchmarks/run.mjs plan-goals [benches] [first seed] [hours] [goal] [margin] [setting]
 */
import type { Bench } from '../../src/bench/bench.ts';
import { plan } from '../../src/design/plan.ts';
import type { PlanGoal, PlanResult } from '../../src/design/planned.ts';
import { closeBench, type Doable, done, evenSpread, MINUTES_A_MOUNT } from './plan-study.ts';

const [benches = '20', first = '1', hours = '12', goal = 'winner', margin = '2', setting = 'field'] =
  process.argv.slice(2);
const most = Math.floor((60 * Number(hours)) / MINUTES_A_MOUNT);

interface Course {
  hours: number;
  answered: boolean;
  right: boolean;
  decided: number;
  isFalse: boolean;
}

const tally: { before: number; adaptive: Course; inTurn: Course }[] = [];
for (let b = 0; b < Number(benches); b++) {
  const close = closeBench(setting, Number(first) + b);
  const { target_W } = close.setting;
  const truth = (name: string) => close.truth.rise_K(name, target_W, close.truth.fan_max_rpm(name));
  const best = Math.min(...close.bench.coolers.map(({ cooler }) => truth(cooler)));
  const isFalse = ({ better, same, a, b: other }: PlanResult['decided']['pairs'][number]) => {
    const apart = truth(a) - truth(other);
    if (same) return Math.abs(apart) >= Number(margin);
    if (better === null) return false;
    return (better === a ? apart : -apart) >= (goal === 'winner' ? Number(margin) : 0);
  };
  const ask = (bench: Bench, more: number) =>
    plan(bench, {
      target_W,
      hours: more,
      goal: goal as PlanGoal,
      ...(Number(margin) > 0 && { margin_K: Number(margin) }),
    });
  const turn = evenSpread(close, Number(hours), 1, 1);
  const course = (next: (result: PlanResult, k: number) => Doable[]): Course => {
    const runs: Doable[] = [];
    let wrong = false;
    let minutes = 0;
    for (let k = 0; ; k++) {
      const bench = runs.length > 0 ? done(close, runs, 'goals') : close.bench;
      const result = ask(bench, MINUTES_A_MOUNT / 60);
      const { decided, expected } = result;
      wrong ||= decided.pairs.some(isFalse);
      const leader = expected.coolers.reduce((x, y) => (y.rise_K < x.rise_K ? y : x)).cooler;
      const visit = decided.answered || k === most ? [] : next(result, k);
      if (visit.length === 0) {
        return {
          hours: minutes / 60,
          answered: decided.answered,
          right: truth(leader) <= best + Number(margin),
          decided: decided.pairs.filter(({ better, same }) => better !== null || same).length,
          isFalse: wrong,
        };
      }
      runs.push(...visit);
      minutes += MINUTES_A_MOUNT;
    }
  };
  const before = ask(close.bench, 1).decided.pairs.filter(
    ({ better, same }) => better !== null || same,
  ).length;
  tally.push({
    before,
    adaptive: course(({ runs }) => runs),
    inTurn: course((_, k) => turn.slice(k, k + 1)),
  });
}

const mean = (values: number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
const withError = (values: number[], digits = 2) => {
  const middle = mean(values);
  const spread = Math.sqrt(mean(values.map((value) => (value - middle) ** 2)) / (values.length - 1));
  return `${middle.toFixed(digits)} ± ${spread.toFixed(digits)}`;
};
console.log(`${setting}, ${goal}, margin ${margin} K: ${benches} benches from ${first}, at most ${hours} h`);
for (const way of ['adaptive', 'inTurn'] as const) {
  const all = tally.map((one) => one[way]);
  console.log(
    `  ${way.padEnd(8)} hours ${withError(all.map((one) => one.hours))}, answered ${all.filter((one) => one.answered).length}, ` +
      `right at best estimate ${all.filter((one) => one.right).length}, comparisons decided ${withError(all.map((one) => one.decided))}, ` +
      `benches with a false decision ${all.filter((one) => one.isFalse).length}`,
  );
}
const more = (way: 'adaptive' | 'inTurn') => mean(tally.map((one) => one[way].decided - one.before));
console.log(
  `  decided on top of ${withError(tally.map(({ before }) => before))} before: adaptive ${more('adaptive').toFixed(2)}, in turn ${more('inTurn').toFixed(2)}`,
);
console.log(
  `  hours in turn less adaptive ${withError(tally.map(({ adaptive, inTurn }) => inTurn.hours - adaptive.hours))}`,
);
