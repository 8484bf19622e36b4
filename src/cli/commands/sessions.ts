import type { Bench } from '../../bench/bench.ts';
import { BenchError } from '../../bench/bench-error.ts';
import { answerFromBench, answerOptions } from '../bench-command.ts';
import type { Command } from '../command.ts';
import { hashedFolder } from '../hashed-folder.ts';

const { json } = answerOptions;

export const sessions: Command = {
  name: 'sessions',
  operand: 'bench',
  about: `Says whether old and new results are comparable: the control chart of the
reference cooler over the sessions, the bridges between test methods, plate and
radiator of liquid coolers, fan speeds, and the record of published charts that
decisions.yaml keeps.`,
  example: 'heatladder sessions demo-bench',
  options: {
    ...(json && { json }),
    cooler: { value: 'NAME', describe: 'chart this cooler (default: reference_cooler of bench.yaml)' },
    chart: { value: 'FORM', describe: 'EWMA (default) or Shewhart' },
  },
  run: (call) =>
    answerFromBench(
      call,
      async (bench: Bench, conditions) => {
        const [cooler, ...more] = conditions.coolers ?? [];
        if (more.length > 0) throw new BenchError('--cooler', 1, 1, 'one cooler is charted; give one name');
        return (await import('../../months/sessions-result.ts')).sessions(bench, {
          ...(cooler !== undefined && { cooler }),
          form: readForm(call.options.chart),
          ...hashedFolder(call.folder),
        });
      },
      async (result, width) =>
        (await import('../../answers/text/sessions-tables.ts')).sessionsTables(result, width),
    ),
};

function readForm(given: unknown): 'EWMA' | 'Shewhart' {
  if (given === undefined) return 'EWMA';
  const form = (['EWMA', 'Shewhart'] as const).find(
    (one) => one.toLowerCase() === String(given).toLowerCase(),
  );
  if (!form) throw new BenchError('--chart', 1, 1, `"${String(given)}" is no chart; give EWMA or Shewhart`);
  return form;
}
