import { BenchError } from '../../bench/bench-error.ts';
import { answerOptions, printAnswer } from '../bench-command.ts';
import type { Command, GivenOptions } from '../command.ts';
import { readConditions } from '../conditions.ts';
import { readGivenFile } from '../given-file.ts';
import { openFolder, reducedWhereNeeded } from '../open-bench.ts';

const { source, ambient, level, without, json } = answerOptions;

export const simulate: Command = {
  name: 'simulate',
  operand: 'bench',
  about: `Plays a load profile forward: the temperature of the source against time, its
peak, and when it meets its limit. Needs logs of the cooler from switching on.
A profile is a table: time_s, power_W and, if need be, fan_rpm; each row is held
until the next.`,
  example: 'heatladder simulate demo-bench --cooler Siskin --profile demo-bench/steps.csv',
  options: {
    cooler: { value: 'NAME', describe: 'the cooler' },
    profile: { value: 'FILE', describe: 'the load profile: time_s, power_W, fan_rpm' },
    interval: { value: 'S', describe: 'spacing of the answer, s (default: some 2000 over the whole)' },
    after: { value: 'S', describe: 'how long to go on after the last row, s (default: until near steady)' },
    source,
    ambient,
    level,
    without,
    json,
  },
  run: async (call) => {
    const { folder, options } = call;
    const wanted = 'give a table of time_s,power_W such as --profile steps.csv';
    const file = readGivenFile('--profile', options.profile, wanted);
    const interval_s = secondsOf(options, 'interval', 0.01);
    const after_s = secondsOf(options, 'after', 0);
    const opened = await openFolder(folder);
    const { coolers, ...conditions } = readConditions(options, opened);
    if (coolers?.length !== 1) {
      const what = coolers ? `${coolers.length} names are given` : 'the cooler is missing';
      throw new BenchError('--cooler', 1, 1, `${what}; give one such as --cooler Heron`);
    }
    const { readProfile } = await import('../../response/profile-table.ts');
    const profile = readProfile(file.name, file.bytes);
    const span_s = profile[profile.length - 1].time_s - profile[0].time_s + (after_s ?? 0);
    if (interval_s !== undefined && span_s / interval_s > MOST_TIMES) {
      throw new BenchError(
        '--interval',
        1,
        1,
        `${interval_s} s over ${span_s} s is more than ${MOST_TIMES} times; give a longer interval`,
      );
    }
    const bench = await reducedWhereNeeded(opened);
    const result = (await import('../../simulate.ts')).simulate(bench, {
      ...conditions,
      cooler: coolers[0],
      profile,
      interval_s,
      after_s,
    });
    await printAnswer(
      call,
      result,
      async (answer, width) =>
        (await import('../../answers/text/simulate-tables.ts')).simulateTables(answer, profile, width),
      { logs: true },
    );
  },
};

const MOST_SECONDS = 1e8;
const MOST_TIMES = 1_000_000;

function secondsOf(options: GivenOptions, name: 'interval' | 'after', least: number): number | undefined {
  const text = options[name];
  if (text === undefined) return undefined;
  const value = typeof text === 'string' && /^(\d+\.?\d*|\.\d+)$/.test(text) ? Number(text) : Number.NaN;
  if (value >= least && value <= MOST_SECONDS) return value;
  throw new BenchError(
    `--${name}`,
    1,
    1,
    `"${text}" is no time; give seconds from ${least} to ${MOST_SECONDS}, such as 10`,
  );
}
