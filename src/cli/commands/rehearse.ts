import { BenchError } from '../../bench/bench-error.ts';
import type { AdaptiveResult } from '../../results.ts';
import { answerOptions, printAnswer } from '../bench-command.ts';
import type { Command, GivenOptions, Invocation } from '../command.ts';
import { readConditions } from '../conditions.ts';
import { readGivenFile } from '../given-file.ts';
import { startProgress } from '../progress.ts';
import { goalOf, goalOptions, hoursOf, targetOf } from './plan.ts';

export const rehearse: Command = {
  name: 'rehearse',
  operand: 'bench',
  about: `Carries a plan out on the fitted virtual lab, many times: in what share of them
each pair is told apart, and how often the wrong way round. With --adaptive it
plays the whole loop: plan one visit, read it, plan again, until the question is
answered, nothing more is worth its time or the hours end; beside it every
cooler in turn.`,
  example: 'heatladder rehearse demo-bench --runs plan.csv --repeats 100',
  options: {
    runs: { value: 'FILE', describe: 'the plan, as plan -o writes it: cooler, power_W and more' },
    adaptive: { describe: 'plan, read and plan again, with --target, --hours, --goal and --margin' },
    target: { value: 'W', describe: 'with --adaptive: loads to decide' },
    hours: { value: 'H', describe: 'with --adaptive: most hours on the bench' },
    ...goalOptions,
    repeats: { value: 'N', describe: 'how many times (default 500; with --adaptive 100)' },
    ...answerOptions,
    power: { value: 'W', describe: 'loads at which to compare (default: the greatest of the plan)' },
  },
  run: async (call) => {
    const { folder, options, open } = call;
    if (options.adaptive === true) return playLoop(call);
    const { name, bytes } = readGivenFile('--runs', options.runs, 'give the file that plan -o wrote');
    const repeats = repeatsOf(options);
    const bench = await open(folder);
    const conditions = readConditions(options, bench);
    const [{ readPlan }, { rehearse: carryOut }] = await Promise.all([
      import('../../design/plan-table.ts'),
      import('../../design/rehearse.ts'),
    ]);
    const result = carryOut(bench, { ...conditions, runs: readPlan(name, bytes), repeats });
    await printAnswer(call, result, async (answer, width) =>
      (await import('../../answers/text/plan-tables.ts')).rehearseTables(answer, width),
    );
  },
};

async function playLoop(call: Invocation): Promise<void> {
  const { folder, options, open } = call;
  if (options.runs !== undefined) {
    throw new BenchError(
      '--runs',
      1,
      1,
      'with --adaptive the runs are chosen on the way; give one of the two',
    );
  }
  const target_W = targetOf(options);
  const hours = hoursOf(options);
  const goal = goalOf(options);
  const repeats = options.repeats === undefined ? undefined : repeatsOf(options);
  const bench = await open(folder);
  const { rehearseAdaptive } = await import('../../design/adaptive.ts');
  const progress = await startProgress('benches played');
  const asked = { ...readConditions(options, bench), target_W, hours, ...goal };
  const play = (): AdaptiveResult => {
    try {
      return rehearseAdaptive(bench, { ...asked, ...(repeats !== undefined && { repeats }) }, progress.at);
    } finally {
      progress.end();
    }
  };
  await printAnswer(call, play(), async (answer, width) =>
    (await import('../../answers/text/plan-tables.ts')).adaptiveTables(answer, width),
  );
}

function repeatsOf({ repeats }: GivenOptions): number {
  if (repeats === undefined) return 500;
  const value = typeof repeats === 'string' && /^\d+$/.test(repeats) ? Number(repeats) : Number.NaN;
  if (!(value >= 1 && value <= 100_000)) {
    throw new BenchError('--repeats', 1, 1, `"${repeats}" is no number of repeats; give 1 to 100000`);
  }
  return value;
}
