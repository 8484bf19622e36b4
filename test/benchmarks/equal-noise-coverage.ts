/**
 * Coverage of speed, rise and order at equal sound on virtual benches whose physics is richer than the formulas.
 *
 * Run: node test/benchmarks/run.mjs equal-noise-coverage [benches] [first seed] [setting]. Targets are 32, 36 and 40 dBA
 * as metered over a background of 26 dBA; loads at both ends and the middle of those run. Bars: speed and fresh run 93 to
 * 97 %, no pair resolved the wrong way beyond the level.
 */
import type { VirtualBenchOptions } from '../../src/lab/bench-options.ts';
import {
  type EqualNoiseTally,
  equalNoiseStudy,
  type MeterOfSessions,
  type Share,
} from './equal-noise-study.ts';

const plain = (seed: number): VirtualBenchOptions => ({
  seed,
  coolers: 6,
  samples: 2,
  mounts: 2,
  loads_W: [80, 140, 200],
  speeds: [0.4, 0.65, 1],
  heaterLeak: { value: 0.05, uncertainty: 0.01 },
});
const SETTINGS: Record<string, (seed: number) => VirtualBenchOptions> = {
  plain,
  'few sound readings': (seed) => ({ ...plain(seed), noise_speeds: [0.6, 1], sound_reading_dB: 0.5 }),
  'one sound reading': (seed) => ({ ...plain(seed), noise_speeds: [0.7], sound_reading_dB: 0.3 }),
  'runs at two speeds': (seed) => ({ ...plain(seed), speeds: [0.5, 1] }),
  'meter without error': (seed) => ({ ...plain(seed), instruments: { sound_systematic_dB: 0 } }),
};

/** Settings in which the coolers are metered in two sessions between which the meter differs. */
const METERS: Record<string, MeterOfSessions> = {
  'meter in two sessions': { deviation_dB: 1, isTied: false, isTold: true },
  'meter in two sessions, tied': { deviation_dB: 1, isTied: true, isTold: true },
  'meter in two sessions, not told': { deviation_dB: 1, isTied: false, isTold: false },
};
for (const name of Object.keys(METERS)) SETTINGS[name] = SETTINGS['meter without error'];

const shown = ({ held, count, perBench }: Share): string => {
  const average = perBench.reduce((a, b) => a + b, 0) / perBench.length;
  const error = Math.sqrt(
    perBench.reduce((a, r) => a + (r - average) ** 2, 0) / (perBench.length - 1) / perBench.length,
  );
  return count === 0
    ? 'none'
    : `${((100 * held) / count).toFixed(1)} ± ${(100 * error).toFixed(1)} % of ${count}`;
};

function linesOf(name: string, tally: EqualNoiseTally): string[] {
  return [
    `${name}: speed ${shown(tally.speed)}; fresh run ${shown(tally.freshRun)}; mean ${shown(tally.mean)}, at an end ${shown(tally.meanAtEnd)}; what 5 dB buy ${shown(tally.bought)}`,
    `  half-width of the mean ${tally.halfWidth_K.toFixed(2)} K, at a known speed ${tally.halfWidthAtKnownSpeed_K.toFixed(2)} K`,
    `  all pairs of a bench true ${shown(tally.allPairs)}; over 3 K apart resolved ${shown(tally.resolved)}; wrong way ${tally.wrongWay}`,
  ];
}

const [benches = '30', first = '1', ...settings] = process.argv.slice(2);
for (const setting of settings.length > 0 ? settings : Object.keys(SETTINGS)) {
  const begin = performance.now();
  const tally = equalNoiseStudy(SETTINGS[setting], Number(benches), Number(first), METERS[setting]);
  for (const line of linesOf(setting, tally)) console.log(line);
  console.log(`  ${((performance.now() - begin) / Number(benches) / 1000).toFixed(1)} s a bench`);
}
