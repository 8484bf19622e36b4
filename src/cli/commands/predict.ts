import type { PredictOptions } from '../../commands.ts';
import { answerFromBench, answerOptions } from '../bench-command.ts';
import type { Command, Invocation } from '../command.ts';
import { meanOptions, ranged, readMean } from '../conditions.ts';

export const predict: Command = {
  name: 'predict',
  operand: 'bench',
  about: `Predicts the rise above ambient at any load, with the interval of the true mean
and of a fresh run, and marks what lies beyond the loads run. With --limit it
also says how many watts bring the source to a temperature.`,
  example: 'heatladder predict demo-bench --power 150,220 --sound 33 --limit 90',
  options: {
    limit: { value: 'C', describe: 'the load at which the source reaches this temperature, °C' },
    ...answerOptions,
    ...meanOptions,
  },
  run: (call) =>
    answerFromBench(
      call,
      async (bench, conditions) =>
        (await import('../../commands.ts')).predict(bench, {
          ...conditions,
          ...limitOf(call),
          ...readMean(call.options),
        }),
      async (result, width) =>
        (await import('../../answers/text/predict-tables.ts')).predictTables(
          result,
          width,
          limitOf(call).limit_C,
        ),
    ),
};

function limitOf({ options: { limit } }: Invocation): Pick<PredictOptions, 'limit_C'> {
  if (typeof limit !== 'string') return {};
  return { limit_C: ranged('limit', limit, 0, 1000, 'a temperature from 0 to 1000 °C such as 90') };
}
