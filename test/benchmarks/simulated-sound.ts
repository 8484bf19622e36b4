import type { SoundReading } from '../../src/sound/collect-noise.ts';
import { meteredLevel } from '../../src/sound/energy-sum.ts';
import type { FanSoundFit } from '../../src/sound/fan-sound.ts';
import { speedAtLevel } from '../../src/sound/speed-at-level.ts';

export interface SimulationOfSound {
  /** `smooth`: two features of 1 to 2 dB, up or down, somewhere along speed. */
  bumps: 'smooth' | 'none';
  /** Least and greatest number of speeds metered. */
  speeds: [number, number];
  repeats: number;
  reading_dB: number;
  samples?: number;
  sample_dB?: number;
  /** Coolers on the bench, default 6. */
  coolers?: number;
  /** Widths of the features, decades of speed (standard deviation), default 0.04 to 0.1. */
  widths?: [number, number];
}

export interface SimulatedSound {
  readings: Map<string, SoundReading[]>;
  /** The true own level of a cooler at a speed, mean over specimens, and its greatest speed. */
  truth: Map<string, { own: (fan_rpm: number) => number; fan_max_rpm: number }>;
}

export const BACKGROUND_dBA = 26;

/** A small generator of our own (mulberry32), so that the study does not change with a library. */
export function generator(seed: number): { uniform: () => number; normal: () => number } {
  let state = seed >>> 0;
  const uniform = (): number => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), state | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  const normal = (): number => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
  return { uniform, normal };
}

export function simulatedSound(scene: SimulationOfSound, seed: number): SimulatedSound {
  const { uniform, normal } = generator(seed);
  const { coolers = 6, widths = [0.04, 0.1] } = scene;
  const readings = new Map<string, SoundReading[]>();
  const truth: SimulatedSound['truth'] = new Map();
  for (let c = 0; c < coolers; c++) {
    const cooler = `cooler ${c + 1}`;
    const level = 24 + 16 * uniform();
    const slope = 50 + 5 * normal();
    const fan_max_rpm = 1500 + 1000 * uniform();
    const features = [0, 1].map(() => ({
      at: Math.log10(fan_max_rpm) - 0.55 * uniform(),
      height: scene.bumps === 'smooth' ? (1 + uniform()) * (uniform() < 0.5 ? -1 : 1) : 0,
      width: widths[0] + (widths[1] - widths[0]) * uniform(),
    }));
    const own = (fan_rpm: number): number => {
      const x = Math.log10(fan_rpm);
      return features.reduce(
        (sum, f) => sum + f.height * Math.exp(-0.5 * ((x - f.at) / f.width) ** 2),
        level + slope * (x - 3),
      );
    };
    const list: SoundReading[] = [];
    const count = scene.speeds[0] + Math.floor(uniform() * (scene.speeds[1] - scene.speeds[0] + 1));
    for (let s = 0; s < (scene.samples ?? 1); s++) {
      const shift = (scene.sample_dB ?? 0) * normal();
      for (let i = 0; i < count; i++) {
        const share = count === 1 ? 0.7 : 0.3 + (0.7 * i) / (count - 1);
        const fan_rpm = Math.round(share * fan_max_rpm);
        for (let k = 0; k < scene.repeats; k++) {
          const metered = meteredLevel(own(fan_rpm) + shift, BACKGROUND_dBA) + scene.reading_dB * normal();
          list.push({
            fan_rpm,
            sound_dBA: Math.round(metered * 10) / 10,
            sample: String(s + 1),
            file: 'noise.csv',
            line: list.length + 2,
          });
        }
      }
    }
    readings.set(cooler, list);
    truth.set(cooler, { own, fan_max_rpm });
  }
  return { readings, truth };
}

export interface CoverageOfSound {
  coverage: number;
  /** Binomial standard error of the coverage. */
  u_coverage: number;
  count: number;
  medianHalfWidth_percent: number;
  /** Share of true speeds below and above their interval. */
  below: number;
  above: number;
}

/**
 * Coverage over benches: for each cooler a true speed is drawn between 30 and 100 % of its greatest, its metered level
 * is the target (kept where it is at least 1 dB above the background), and the interval must hold the greatest speed at
 * which the true level is that target.
 */
export function soundCoverage(
  scene: SimulationOfSound,
  benches: number,
  seed: number,
  fitted: (bench: SimulatedSound) => FanSoundFit,
): CoverageOfSound {
  const { uniform } = generator(seed * 7919 + 1);
  let [held, below, above, count] = [0, 0, 0, 0];
  const halfWidths: number[] = [];
  for (let b = 0; b < benches; b++) {
    const bench = simulatedSound(scene, seed * 100003 + b);
    const { laws } = fitted(bench);
    for (const [cooler, { own, fan_max_rpm }] of bench.truth) {
      const drawn_rpm = fan_max_rpm * (0.3 + 0.7 * uniform());
      const target = meteredLevel(own(drawn_rpm), BACKGROUND_dBA);
      if (target < BACKGROUND_dBA + 1) continue;
      const true_rpm = greatestSpeedAt(own, own(drawn_rpm), drawn_rpm, 1.3 * fan_max_rpm);
      const answer = speedAtLevel(laws.get(cooler)!, target);
      count++;
      if (true_rpm < answer.low_rpm) below++;
      else if (true_rpm > answer.high_rpm) above++;
      else held++;
      halfWidths.push((50 * (answer.high_rpm - answer.low_rpm)) / answer.fan_rpm);
    }
  }
  halfWidths.sort((p, q) => p - q);
  const coverage = held / count;
  return {
    coverage,
    u_coverage: Math.sqrt((coverage * (1 - coverage)) / count),
    count,
    medianHalfWidth_percent: halfWidths[Math.floor(halfWidths.length / 2)],
    below: below / count,
    above: above / count,
  };
}

function greatestSpeedAt(own: (n: number) => number, level: number, from: number, to: number): number {
  for (let n = to; n > from; n /= 1.001) if (own(n) <= level) return n;
  return from;
}
