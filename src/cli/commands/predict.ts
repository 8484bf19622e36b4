import { answerFromBench, answerOptions } from '../bench-command.ts';
import type { Command } from '../command.ts';

export const predict: Command = {
  name: 'predict',
  operand: 'bench',
  about: `Predicts the rise above ambient at any load, with the interval of the true mean
and of a fresh run, and marks what lies beyond the loads run.`,
  example: 'heatladder predict demo-bench --power 150,220 --sound 33',
  options: answerOptions,
  run: (call) =>
    answerFromBench(
      call,
      async (bench, conditions) => (await import('../../commands.ts')).predict(bench, conditions),
      async (result, width) => (await import('../../tables/predict-tables.ts')).predictTables(result, width),
    ),
};
