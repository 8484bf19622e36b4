import { readFileSync } from 'node:fs';
import { BenchError } from '../../bench/bench-error.ts';
import { answerOptions } from '../bench-command.ts';
import type { Command, GivenOptions } from '../command.ts';
import { readConditions } from '../conditions.ts';
import { jsonText } from '../json.ts';
import { metaOf } from '../meta.ts';

export const rehearse: Command = {
  name: 'rehearse',
  operand: 'bench',
  about: `Carries a plan out on the fitted virtual lab, many times: in what share of them
each pair is told apart, and how often the wrong way round.`,
  example: 'heatladder rehearse demo-bench --runs plan.csv --repeats 500',
  options: {
    runs: { value: 'FILE', describe: 'the plan, as plan -o writes it: cooler, power_W and more' },
    repeats: { value: 'N', describe: 'how many times (default 500)' },
    ...answerOptions,
    power: { value: 'W', describe: 'loads at which to compare (default: the greatest of the plan)' },
  },
  run: async ({ folder, options, output, open }) => {
    const { file, bytes } = planFile(options);
    const repeats = repeatsOf(options);
    const bench = await open(folder);
    const conditions = readConditions(options, bench);
    const [{ readPlan }, { rehearse: carryOut }] = await Promise.all([
      import('../../planning/plan-table.ts'),
      import('../../planning/rehearse.ts'),
    ]);
    const result = carryOut(bench, { ...conditions, runs: readPlan(file, bytes), repeats });
    for (const warning of new Set(result.warnings)) output.warn(warning);
    if (options.json === true) output.result(jsonText({ ...result, meta: metaOf(folder, options) }));
    else output.result((await import('../../tables/plan-tables.ts')).rehearseTables(result, output.width));
  },
};

function planFile({ runs }: GivenOptions): { file: string; bytes: Uint8Array } {
  if (typeof runs !== 'string') {
    throw new BenchError('--runs', 1, 1, 'the plan is missing; give its file such as --runs plan.csv');
  }
  try {
    return { file: runs, bytes: readFileSync(runs) };
  } catch {
    throw new BenchError('--runs', 1, 1, `cannot read "${runs}"; give the file that plan -o wrote`);
  }
}

function repeatsOf({ repeats }: GivenOptions): number {
  if (repeats === undefined) return 500;
  const value = typeof repeats === 'string' && /^\d+$/.test(repeats) ? Number(repeats) : Number.NaN;
  if (!(value >= 1 && value <= 100_000)) {
    throw new BenchError('--repeats', 1, 1, `"${repeats}" is no number of repeats; give 1 to 100000`);
  }
  return value;
}
