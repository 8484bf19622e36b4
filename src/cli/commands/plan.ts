import { BenchError } from '../../bench/bench-error.ts';
import { parseLoads } from '../../predict/parse-loads.ts';
import type { PlanGoal, PlanOptions } from '../../results.ts';
import { answerOptions, printAnswer } from '../bench-command.ts';
import type { Command, GivenOptions, OptionTable } from '../command.ts';
import { marginOf, readConditions } from '../conditions.ts';
import { placeOf } from '../output-place.ts';
import { writeFileWhole } from '../write-whole.ts';

const { power: _, ...conditions } = answerOptions;

/** What is asked, and what differences matter. */
export const goalOptions: OptionTable = {
  goal: {
    value: 'NAME',
    describe:
      'order (default): which pairs differ; winner: which is the coolest; pair:A,B: whether these two differ; prediction: narrowest predictions',
  },
  margin: {
    value: 'K',
    describe: 'differences up to this do not matter: shown to be within it is the same',
  },
};

export const plan: Command = {
  name: 'plan',
  operand: 'bench',
  about: `Chooses the next runs for a question within some hours: which coolers, at which
loads, on how many fresh mounts; what they should buy; which pairs no time would
tell apart; and prints a run sheet. Times on the bench stand in bench.yaml under
planning: settle_air_min, settle_liquid_min, remount_min, heater_visit_min,
chip_visit_min, chip_days, day_hours.`,
  example: 'heatladder plan demo-bench --target 230 --hours 8 -o plan.csv',
  options: {
    target: { value: 'W', describe: 'loads at which to tell the coolers apart: 200 or 150,250' },
    hours: { value: 'H', describe: 'hours on the bench' },
    ...goalOptions,
    output: { alias: 'o', value: 'FILE', describe: 'write the runs as a table; - for standard output' },
    ...conditions,
  },
  run: async (call) => {
    const { folder, options, open } = call;
    const place = placeOf(options.output);
    const target_W = targetOf(options);
    const hours = hoursOf(options);
    const bench = await open(folder);
    const result = (await import('../../design/plan.ts')).plan(bench, {
      ...readConditions(options, bench),
      target_W,
      hours,
      ...goalOf(options),
    });
    if (place !== undefined) {
      const text = (await import('../../design/plan-table.ts')).planCsv(result);
      if (place === '-') {
        call.output.file(text);
        return;
      }
      writeFileWhole(place, new TextEncoder().encode(text), '-o');
    }
    // Printed, the warnings stand on the sheet itself, which is taken to the bench.
    const said = options.json === true ? result : { ...result, warnings: [] };
    await printAnswer(call, said, async (answer, width) =>
      (await import('../../answers/text/plan-tables.ts')).planTables(
        { ...answer, warnings: result.warnings },
        width,
      ),
    );
  },
};

export function targetOf({ target }: GivenOptions): number[] {
  if (typeof target !== 'string') {
    throw new BenchError(
      '--target',
      1,
      1,
      'the load to decide is missing; give it in W, such as --target 200',
    );
  }
  try {
    return parseLoads(target);
  } catch (error) {
    if (!(error instanceof BenchError)) throw error;
    throw new BenchError('--target', 0, 0, error.message.slice(error.message.indexOf(': ') + 2));
  }
}

export function hoursOf({ hours }: GivenOptions): number {
  const value = typeof hours === 'string' && /^(\d+\.?\d*|\.\d+)$/.test(hours) ? Number(hours) : Number.NaN;
  if (!(value > 0 && value <= 1000)) {
    const given = typeof hours === 'string' ? `"${hours}" is no time` : 'the time on the bench is missing';
    throw new BenchError('--hours', 1, 1, `${given}; give hours above 0 and up to 1000, such as --hours 8`);
  }
  return value;
}

/** The goal as given, which the plan reads with the names of the bench. */
export function goalOf({ goal, margin }: GivenOptions): Pick<PlanOptions, 'goal' | 'margin_K'> {
  const margin_K = marginOf(margin);
  return {
    ...(typeof goal === 'string' && { goal: goal as PlanGoal }),
    ...(margin_K !== undefined && { margin_K }),
  };
}
