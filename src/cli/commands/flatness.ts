import { BenchError } from '../../bench/bench-error.ts';
import { answerFromBench, answerOptions } from '../bench-command.ts';
import type { Command } from '../command.ts';

export const flatness: Command = {
  name: 'flatness',
  operand: 'bench',
  about: `Reads the depth-gauge maps of a bench: how flat each base is, the gap that the
paste fills, what that gap adds to the resistance and to the rise at a load, and
whether it can explain the differences between coolers.`,
  example: 'heatladder flatness demo-bench --power 180',
  options: {
    ...answerOptions,
    power: { value: 'W', describe: 'loads: 150,250 or from:to:step, ends included (default 200)' },
    source: { value: 'NAME', describe: 'heat enters through the hot spots of this source (default: evenly)' },
    'contact-pressure': {
      value: 'KPA',
      describe: 'pressure of the base on the source (default: the gap is a bound)',
    },
    paste: { value: 'LOW,HIGH', describe: 'what the paste conducts, W/mK (default 4,8)' },
  },
  run: (call) =>
    answerFromBench(
      call,
      async (bench, conditions) => {
        const { 'contact-pressure': pressure, paste } = call.options;
        return (await import('../../flatness.ts')).flatness(bench, {
          ...conditions,
          ...(typeof pressure === 'string' && { contact_pressure_kPa: readPressure(pressure) }),
          ...(typeof paste === 'string' && { paste_W_per_mK: readPaste(paste) }),
        });
      },
      async (result, width) =>
        (await import('../../answers/text/flatness-tables.ts')).flatnessTables(result, width),
    ),
};

const NUMBER = /^\s*\+?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\s*$/;

function readPressure(text: string): number {
  const value = NUMBER.test(text) ? Number(text) : Number.NaN;
  if (value > 0 && value <= 1e5) return value;
  throw new BenchError(
    '--contact-pressure',
    1,
    1,
    `"${text}" is not a pressure; give kPa above 0 and up to 100000 such as 300`,
  );
}

function readPaste(text: string): [number, number] {
  const parts = text.split(',');
  const values = parts.map((part) => (NUMBER.test(part) ? Number(part) : Number.NaN));
  const [low, high = low] = values;
  if (parts.length <= 2 && low > 0 && high >= low && high <= 1e4) return [low, high];
  throw new BenchError(
    '--paste',
    1,
    1,
    `"${text}" is not a conductivity; give one number above 0 in W/mK or two in order such as 4,8`,
  );
}
