import { BenchError } from '../../bench/bench-error.ts';
import { answerOptions, printAnswer } from '../bench-command.ts';
import type { Command, GivenOptions } from '../command.ts';
import { readConditions } from '../conditions.ts';
import { readGivenFile } from '../given-file.ts';

export const rehearse: Command = {
  name: 'rehearse',
  operand: 'bench',
  about: `Carries a plan out on the fitted virtual lab, many times: in what share of them
each pair is told apart, and how often the wrong way round.`,
  example: 'heatladder rehearse demo-bench --runs plan.csv --repeats 100',
  options: {
    runs: { value: 'FILE', describe: 'the plan, as plan -o writes it: cooler, power_W and more' },
    repeats: { value: 'N', describe: 'how many times (default 500)' },
    ...answerOptions,
    power: { value: 'W', describe: 'loads at which to compare (default: the greatest of the plan)' },
  },
  run: async (call) => {
    const { folder, options, open } = call;
    const { name, bytes } = readGivenFile('--runs', options.runs, 'give the file that plan -o wrote');
    const repeats = repeatsOf(options);
    const bench = await open(folder);
    const conditions = readConditions(options, bench);
    const [{ readPlan }, { rehearse: carryOut }] = await Promise.all([
      import('../../planning/plan-table.ts'),
      import('../../planning/rehearse.ts'),
    ]);
    const result = carryOut(bench, { ...conditions, runs: readPlan(name, bytes), repeats });
    await printAnswer(call, result, async (answer, width) =>
      (await import('../../tables/plan-tables.ts')).rehearseTables(answer, width),
    );
  },
};

function repeatsOf({ repeats }: GivenOptions): number {
  if (repeats === undefined) return 500;
  const value = typeof repeats === 'string' && /^\d+$/.test(repeats) ? Number(repeats) : Number.NaN;
  if (!(value >= 1 && value <= 100_000)) {
    throw new BenchError('--repeats', 1, 1, `"${repeats}" is no number of repeats; give 1 to 100000`);
  }
  return value;
}
