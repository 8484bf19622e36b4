/**
 * What planned runs on a chip buy beside what they are foreseen to: node test/benchmarks/run.mjs chip-plan [benches] [first seed]
 *
 * Six coolers on the heater, the first two on the chip. The chip runs of the other four are first planned and then done.
 */

import { compare } from '../../src/answers/compare.ts';
import type { Bench } from '../../src/bench/bench.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { ExpectedPosterior } from '../../src/design/expected-posterior.ts';
import { isResolvedNow, planTask } from '../../src/design/plan-task.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { chipBench } from './chip-study.ts';

export interface ChipPlanTally {
  /** Pairs that the runs before leave untold, the chance that the plan gave them in sum, and how many were then told apart. */
  open: number;
  foreseen: number;
  told: number;
  wrong: number;
  /** Width of each pair's interval once the runs are done over that foreseen, ascending. */
  widths: number[];
}

export function chipPlanTally(benches: number, first: number, load_W = 140): ChipPlanTally {
  const tally: ChipPlanTally = { open: 0, foreseen: 0, told: 0, wrong: 0, widths: [] };
  for (let seed = first; seed < first + benches; seed++) {
    const { files, truth } = makeVirtualBench(chipBench(seed, 6));
    const done: Bench = readBench(files);
    const source = done.chips[0].chip;
    const isKnown = (cooler: string) => cooler === 'cooler-1' || cooler === 'cooler-2';
    const runs = done.runs.filter((run) => run.source === 'heater' || isKnown(run.cooler));
    const task = planTask({ ...done, runs }, { source, target_W: load_W, hours: 1 }, [load_W]);
    const { question, coolers } = task;
    const planned = coolers.flatMap(({ name }, cooler) =>
      done.runs
        .filter((run) => run.source === source && run.cooler === name && !isKnown(name))
        .map(({ sample, mount = '', power_W, fan_rpm }) => ({ cooler, sample, mount, power_W, fan_rpm })),
    );
    if (!question.posterior.term) throw new Error('the bench answers from its chip runs alone');
    const plan = new ExpectedPosterior(question, coolers, planned);
    const after = plan.after(planned);
    for (const { a, b, difference, resolved } of compare(done, { source, power_W: [load_W] }).pairs) {
      const [i, j] = [a, b].map((name) => coolers.findIndex((one) => one.name === name));
      const freedom = Math.min(...[i, j].map((c) => coolers[c].limitsNow[0].distribution.meanFreedom));
      const foreseen_K = 2 * question.critical(freedom) * Math.sqrt(after.variance(i, j, 0));
      tally.widths.push((difference[0].high_K - difference[0].low_K) / foreseen_K);
      if (isResolvedNow(task, i, j, 0)) continue;
      tally.open++;
      tally.foreseen += after.chance(i, j, 0);
      if (resolved.length === 0) continue;
      tally.told++;
      const truly = [a, b].map((name) => truth.rise_K(name, load_W, truth.fan_max_rpm(name), source));
      if ((resolved[0].better === a) !== truly[0] < truly[1]) tally.wrong++;
    }
  }
  tally.widths.sort((p, q) => p - q);
  return tally;
}

if (process.argv[1]?.includes('study')) {
  const [benches = '60', first = '1'] = process.argv.slice(2);
  const { open, foreseen, told, wrong, widths } = chipPlanTally(Number(benches), Number(first));
  const at = (share: number) => widths[Math.floor(share * widths.length)].toFixed(2);
  console.log(
    `${open} open pairs: ${foreseen.toFixed(1)} foreseen to be told apart, ${told} told, ${wrong} the wrong way; ` +
      `width done over foreseen: median ${at(0.5)}, 5 to 95 % ${at(0.05)} to ${at(0.95)}`,
  );
}
