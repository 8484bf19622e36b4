/**
 * Time of a fit of fan sound and of finding speeds at a level, 20 coolers with 12 readings each. Bars: 0.1 s and 1 ms.
 *
 * Run: node test/benchmarks/run.mjs equal-noise-timing. Prints the speeds too, so that two versions can be compared.
 */
import { fitFanSound } from '../../src/sound/fan-sound.ts';
import { speedAtLevel } from '../../src/sound/speed-at-level.ts';
import { BACKGROUND_dBA, type SimulationOfSound, simulatedSound } from './simulated-sound.ts';

const scenes: Record<string, SimulationOfSound> = {
  'one sample': { bumps: 'smooth', speeds: [12, 12], repeats: 1, reading_dB: 0.2, coolers: 20 },
  'six speeds, two repeats': { bumps: 'none', speeds: [6, 6], repeats: 2, reading_dB: 0.3, coolers: 20 },
  'two samples': {
    bumps: 'smooth',
    speeds: [6, 6],
    repeats: 1,
    reading_dB: 0.2,
    coolers: 20,
    samples: 2,
    sample_dB: 0.5,
  },
};
const middle = (times: number[]): number => times.sort((a, b) => a - b)[Math.floor(times.length / 2)];
for (const [name, scene] of Object.entries(scenes)) {
  const fits: number[] = [];
  const firsts: number[] = [];
  const nexts: number[] = [];
  const speeds: number[] = [];
  for (let k = 0; k < 9; k++) {
    const { readings, truth } = simulatedSound(scene, k % 3);
    const start = performance.now();
    const { laws } = fitFanSound(readings, { background_dBA: BACKGROUND_dBA });
    fits.push(performance.now() - start);
    for (const [cooler, law] of laws) {
      const options = { fan_max_rpm: truth.get(cooler)!.fan_max_rpm };
      for (const [i, level] of [35, 29, 41].entries()) {
        const begin = performance.now();
        const found = speedAtLevel(law, level, options);
        (i === 0 ? firsts : nexts).push(performance.now() - begin);
        if (k < 3) speeds.push(found.fan_rpm, found.low_rpm, found.high_rpm);
      }
    }
  }
  console.log(
    `${name}: fit ${middle(fits).toFixed(0)} ms; first speed of a cooler ${middle(firsts).toFixed(2)} ms, next ones ${middle(nexts).toFixed(2)} ms`,
  );
  if (process.argv[2] === 'speeds') console.log(speeds.join(' '));
}
