import type { Bench } from '../bench/bench.ts';

/** One metered level of one cooler at one speed, background included. */
export interface SoundReading {
  fan_rpm: number;
  sound_dBA: number;
  /** The specimen metered. noise.csv names none: it is then sample 1, as in the runs. */
  sample: string;
  /** Where it came from, for messages. */
  file: 'noise.csv' | 'runs.csv';
  line: number;
}

export interface CollectedNoise {
  /** Readings by cooler, every cooler of the bench present, possibly with none. */
  readings: Map<string, SoundReading[]>;
  /** What was left out or deserves a word, each with file and line. */
  warnings: string[];
}

/**
 * Every sound reading of a bench: the rows of noise.csv joined with the runs that carry `sound_dBA`.
 *
 * A reading with the fan standing still says nothing about the law of the fan and is left out with a warning. In the
 * readings of a liquid cooler the pump is heard too; where its speed differs among the readings a warning says so.
 *
 * @example collectNoise(bench).readings.get('Heron') // [{ fan_rpm: 1200, sound_dBA: 33.1, sample: '1', … }, …]
 */
export function collectNoise(bench: Bench): CollectedNoise {
  const readings = new Map<string, SoundReading[]>();
  const warnings: string[] = [];
  for (const { cooler } of bench.coolers) readings.set(cooler, []);
  const pumpSpeeds = new Map<string, Set<number>>();
  const take = (cooler: string, reading: SoundReading): void => {
    if (!(reading.fan_rpm > 0)) {
      warnings.push(
        `${reading.file}:${reading.line}: a sound reading of ${cooler} with the fan at ${reading.fan_rpm} rpm is left out of its fan's law`,
      );
      return;
    }
    const list = readings.get(cooler);
    if (list) list.push(reading);
    else readings.set(cooler, [reading]);
  };
  for (const { cooler, fan_rpm, sound_dBA, line } of bench.noise) {
    take(cooler, { fan_rpm, sound_dBA, sample: '1', file: 'noise.csv', line });
  }
  for (const { cooler, fan_rpm, sound_dBA, sample, line, pump_rpm } of bench.runs) {
    if (sound_dBA === undefined) continue;
    take(cooler, { fan_rpm, sound_dBA, sample, file: 'runs.csv', line });
    if (pump_rpm !== undefined) {
      const speeds = pumpSpeeds.get(cooler) ?? new Set<number>();
      pumpSpeeds.set(cooler, speeds.add(pump_rpm));
    }
  }
  for (const [cooler, speeds] of pumpSpeeds) {
    const list = [...speeds];
    if (Math.max(...list) > 1.05 * Math.min(...list)) {
      warnings.push(
        `${cooler}: its sound was metered at pump speeds from ${Math.min(...list)} to ${Math.max(...list)} rpm; the pump's part is taken for scatter of the fan's`,
      );
    }
  }
  return { readings, warnings };
}
