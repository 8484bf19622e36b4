/** Asks an odd bench everything and looks at what comes back: numbers, or a BenchError. */

import { compare } from '../../src/answers/compare.ts';
import { fit } from '../../src/answers/fit.ts';
import { predict } from '../../src/answers/predict.ts';
import { screen } from '../../src/answers/screen.ts';
import { BenchError } from '../../src/bench/bench-error.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { plan } from '../../src/design/plan.ts';
import { rehearse } from '../../src/design/rehearse.ts';
import type { Conditions } from '../../src/predict/conditions.ts';

const commands = { compare, fit, predict };

/** Fields that may be null by their documentation, or infinite where the data tell nothing. */
const MAY_BE_NULL =
  /(sound_dBA|power_W|low_W|high_W|rms_K|standard_error|cause|cause_probability|p|mount|gain|seconds|minutes|level_dBA|.*_dBA|.*_null)$/;

const conditions: readonly Conditions[] = [
  {},
  { power_W: [150] },
  { power_W: [1e-3, 100, 1e6] },
  { power_W: [120, 200], fan_percent: 40, ambient_C: 35 },
  { power_W: [120, 200], sound_dBA: 35 },
  { power_W: [120, 200], source: 'slate' },
  { power_W: [120], fan_rpm: 1000, level: 0.999 },
];

export interface Tally {
  answered: number;
  refused: number;
}

/** @throws Error naming the call for anything but an answer in numbers or a BenchError */
export function askEverything(files: Map<string, Uint8Array>, tally: Tally, thorough = false): void {
  let bench: ReturnType<typeof readBench>;
  try {
    bench = readBench(files);
  } catch (error) {
    if (!(error instanceof BenchError)) throw error;
    tally.refused++;
    return;
  }
  const ask = (name: string, answer: () => unknown) => {
    let result: unknown;
    try {
      result = answer();
    } catch (error) {
      if (!(error instanceof BenchError)) {
        throw new Error(`${name}: ${(error as Error)?.stack}`);
      }
      tally.refused++;
      return;
    }
    tally.answered++;
    const hole = notANumber(result, name);
    if (hole) throw new Error(`no number: ${hole}`);
  };
  for (const each of conditions) {
    const name = JSON.stringify(each);
    if (each.power_W === undefined || each.source) ask(`fit ${name}`, () => commands.fit(bench, each));
    ask(`predict ${name}`, () => commands.predict(bench, each));
    ask(`compare ${name}`, () => commands.compare(bench, each));
  }
  if (!thorough) return;
  ask('screen', () => screen(bench));
  ask('plan', () => plan(bench, { target_W: 200, hours: 3 }));
  ask('rehearse', () =>
    rehearse(bench, { runs: [{ cooler: bench.coolers[0].cooler, power_W: 150 }], repeats: 3 }),
  );
}

/** The place of the first number that is none, and what is there. */
export function notANumber(value: unknown, place: string): string | undefined {
  if (typeof value === 'number') {
    if (Number.isFinite(value) || (MAY_BE_NULL.test(place) && !Number.isNaN(value))) return undefined;
    return `${place} is ${value}`;
  }
  if (value === null || typeof value !== 'object') return undefined;
  for (const [key, inner] of Object.entries(value)) {
    const found = notANumber(inner, `${place}.${key}`);
    if (found) return found;
  }
  return undefined;
}
