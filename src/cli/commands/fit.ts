import { answerFromBench, answerOptions } from '../bench-command.ts';
import type { Command } from '../command.ts';

export const fit: Command = {
  name: 'fit',
  operand: 'bench',
  about: `Fits the resistance of each cooler from the runs of a bench and prints the
models with their weights, the parameters with their standard errors, and how
much mounts, samples, sessions and readings scatter.`,
  example: 'heatladder fit demo-bench',
  options: answerOptions,
  run: (call) =>
    answerFromBench(
      call,
      async (bench, conditions) => (await import('../../commands.ts')).fit(bench, conditions),
      async (result, width) => (await import('../../answers/text/fit-tables.ts')).fitTables(result, width),
    ),
};
