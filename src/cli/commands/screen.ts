import { answerFromBench, answerOptions } from '../bench-command.ts';
import type { Command } from '../command.ts';

const { source, cooler, without, json } = answerOptions;

export const screen: Command = {
  name: 'screen',
  operand: 'bench',
  about: `Judges every run and every mount by all the others: stragglers and outliers in
the words of ISO 5725-2, the likely cause of each, and the cheapest run that
would tell. Nothing is left out by itself.`,
  example: 'heatladder screen demo-bench',
  options: { source, cooler, without, json },
  run: (call) =>
    answerFromBench(
      call,
      async (bench, conditions) => (await import('../../screen/screen.ts')).screen(bench, conditions),
      async (result, width) =>
        (await import('../../answers/text/screen-tables.ts')).screenTables(result, width),
    ),
};
