/**
 * How often the speed at a target level lies in its 95 % interval, on simulated coolers. Bar: 93 to 97 %.
 *
 * Run: `npx esbuild test/benchmarks/sound-coverage.ts --bundle --platform=node --format=cjs | node - 100 23`, the
 * numbers being benches and seed (Node 22.18 and later run the file as it is). Each bench has six coolers with levels of
 * 24 to 40 dBA at 1000 rpm, b ~ N(50, 5) dB a decade, background 26 dBA, top speed 1500 to 2500 rpm, readings at 4 to 8
 * speeds from 30 to 100 %, shown by a meter with a resolution of 0.1 dB. Targets are at least 1 dB above the background.
 */
import { fitFanSound } from '../../src/sound/fan-sound.ts';
import { BACKGROUND_dBA, type SimulationOfSound, soundCoverage } from './simulated-sound.ts';

const benches = Number(process.argv[2] ?? 100);
const seed = Number(process.argv[3] ?? 7);
const smooth = { bumps: 'smooth', speeds: [4, 8], repeats: 1, reading_dB: 0.2 } as const;
const none = { ...smooth, bumps: 'none' } as const;
const scenes: Record<string, SimulationOfSound> = {
  'smooth bumps, two repeats': { ...smooth, speeds: [4, 8], repeats: 2 },
  'smooth bumps, no repeats': { ...smooth, speeds: [4, 8] },
  'narrow bumps (1 to 3 % of a decade), no repeats': { ...smooth, speeds: [4, 8], widths: [0.01, 0.03] },
  'scatter of 0.5 dB, two repeats': { ...none, speeds: [4, 8], repeats: 2, reading_dB: 0.5 },
  'scatter of 0.5 dB, no repeats': { ...none, speeds: [4, 8], reading_dB: 0.5 },
  'scatter of 0.2 dB, two repeats': { ...none, speeds: [4, 8], repeats: 2 },
  'two readings a cooler, smooth bumps': { ...smooth, speeds: [2, 2] },
  'one reading a cooler, smooth bumps': { ...smooth, speeds: [1, 1] },
  'one cooler on the bench, smooth bumps': { ...smooth, speeds: [4, 8], coolers: 1 },
  'two samples that differ by 0.5 dB, smooth bumps': {
    ...smooth,
    speeds: [4, 8],
    samples: 2,
    sample_dB: 0.5,
  },
};
for (const [name, scene] of Object.entries(scenes)) {
  const count = benches * (scene.coolers === 1 ? 3 : 1);
  const result = soundCoverage(scene, count, seed, ({ readings }) =>
    fitFanSound(readings, { background_dBA: BACKGROUND_dBA }),
  );
  const percent = (share: number): string => (100 * share).toFixed(1);
  console.log(
    `${name}: ${percent(result.coverage)} ± ${percent(result.u_coverage)} % of ${result.count} (true speed below ${percent(result.below)} %, above ${percent(result.above)} %), median half-width ${result.medianHalfWidth_percent.toFixed(1)} % of the speed`,
  );
}
