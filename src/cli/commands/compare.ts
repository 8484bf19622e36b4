import { answerFromBench, answerOptions } from '../bench-command.ts';
import type { Command } from '../command.ts';
import { meanOptions, readMean } from '../conditions.ts';

export const compare: Command = {
  name: 'compare',
  operand: 'bench',
  about: `Says which cooler is ahead at each load, which tie because the test cannot tell
them apart, and at which loads the order changes.`,
  example: 'heatladder compare demo-bench --power 50:250:50 --fan 60%',
  options: { ...answerOptions, ...meanOptions },
  run: (call) =>
    answerFromBench(
      call,
      async (bench, conditions) =>
        (await import('../../commands.ts')).compare(bench, {
          ...conditions,
          ...readMean(call.options),
        }),
      async (result, width) =>
        (await import('../../answers/text/compare-tables.ts')).compareTables(result, width),
    ),
};
