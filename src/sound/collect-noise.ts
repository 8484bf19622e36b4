import type { Bench } from '../bench/bench.ts';

/** One metered level of one cooler at one speed, background included. */
export interface SoundReading {
  fan_rpm: number;
  sound_dBA: number;
  sample: string;
  /** What has the meter's calibration and place in common; '' where the file names none. */
  session?: string;
  /** Speed of a liquid cooler's pump, where given. */
  pump_rpm?: number;
  /** Where it came from, for messages. */
  file: 'noise.csv' | 'runs.csv';
  line: number;
}

export interface CollectedNoise {
  /** Readings by cooler, every cooler of the bench present, possibly with none. */
  readings: Map<string, SoundReading[]>;
  /** Readings with a pump speed by cooler, those of the pump alone among them. */
  withPump: Map<string, SoundReading[]>;
  /** What was left out or deserves a word, each with file and line. */
  warnings: string[];
}

/**
 * Every sound reading of a bench: the rows of noise.csv joined with the runs that carry `sound_dBA`.
 *
 * A reading with the fan standing still says nothing about the law of the fan and is left out with a warning, unless a
 * pump speed makes it a reading of the pump. In the readings of a liquid cooler the pump is heard too: where its speed
 * differs, `readings` holds those at its greatest speed, as a cooler is run, and `withPump` all of them.
 *
 * @example collectNoise(bench).readings.get('Siskin') // [{ fan_rpm: 665, … }, …]
 */
export function collectNoise(bench: Bench): CollectedNoise {
  const readings = new Map<string, SoundReading[]>();
  const warnings: string[] = [];
  for (const { cooler } of bench.coolers) readings.set(cooler, []);
  const withPump = new Map<string, SoundReading[]>();
  const add = (to: Map<string, SoundReading[]>, cooler: string, reading: SoundReading): void => {
    const list = to.get(cooler);
    if (list) list.push(reading);
    else to.set(cooler, [reading]);
  };
  const take = (cooler: string, reading: SoundReading): void => {
    if (reading.pump_rpm !== undefined) add(withPump, cooler, reading);
    if (reading.fan_rpm > 0) add(readings, cooler, reading);
    else if (!((reading.pump_rpm ?? 0) > 0)) {
      warnings.push(
        `${reading.file}:${reading.line}: a sound reading of ${cooler} with the fan at ${reading.fan_rpm} rpm is left out of its fan's law`,
      );
    }
  };
  const rows = [
    ...bench.noise.map((row) => ({ ...row, file: 'noise.csv' as const })),
    ...bench.runs.map((row) => ({ ...row, file: 'runs.csv' as const })),
  ];
  for (const { cooler, fan_rpm, sound_dBA, sample = '1', session = '', line, pump_rpm, file } of rows) {
    if (sound_dBA === undefined) continue;
    const pump = pump_rpm === undefined ? {} : { pump_rpm };
    take(cooler, { fan_rpm, sound_dBA, sample, session, ...pump, file, line });
  }
  const sessions = new Set(bench.runs.map(({ session = '' }) => session));
  if (sessions.size > 1 && bench.noise.length > 0 && bench.noise.every(({ session }) => !session)) {
    warnings.push(
      'noise.csv:1:1: it has no column session, so all levels are taken as metered in one session; add the column if they were not',
    );
  }
  for (const [cooler, list] of withPump) {
    const greatest = Math.max(...list.map((reading) => reading.pump_rpm ?? 0));
    const own = readings.get(cooler) ?? [];
    const kept = own.filter(({ pump_rpm = greatest }) => pump_rpm > greatest / SAME_PUMP_SPEED);
    if (kept.length < own.length && kept.length > 0) readings.set(cooler, kept);
    else if (kept.length === 0 && own.length > 0) {
      warnings.push(
        `${cooler}: no sound reading with its fan running is at its pump's greatest speed of ${greatest} rpm; the pump's part is taken for scatter of the fan's`,
      );
    }
  }
  return { readings, withPump, warnings };
}

/** Pump speeds within this factor are one speed (an assumption). */
export const SAME_PUMP_SPEED = 1.05;
