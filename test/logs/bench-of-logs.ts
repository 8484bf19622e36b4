import type { Bench, LogEntry } from '../../src/bench/bench.ts';

/**
 * A bench that holds logs and nothing else, with the instruments' default figures.
 *
 * @param logs  text by file name; or names alone, for logs that are had from elsewhere
 * @param entry  what the index says of every log, over run r1, r2 … of sample 1 of one cooler
 */
export function benchOfLogs(
  logs: Readonly<Record<string, string>> | readonly string[],
  entry: Partial<LogEntry> = {},
): Bench {
  const texts = Array.isArray(logs) ? [] : Object.entries(logs as Record<string, string>);
  const names = Array.isArray(logs) ? logs : Object.keys(logs);
  return {
    name: 'test',
    ambient: { setpoint_C: 22, tolerance_K: 1 },
    instruments: {
      source_temperature: { systematic_K: 0.5, resolution_K: 0.1 },
      ambient_temperature: { systematic_K: 0.3, resolution_K: 0.1 },
      power: { systematic_percent: 0.5 },
      sound_level: { systematic_dB: 1 },
    },
    heater: { leak_W_per_K: { value: 0, uncertainty: 0.05 } },
    chips: [],
    methods: [],
    sessions: [],
    runs: [],
    coolers: [],
    noise: [],
    flatness: [],
    logs: names.map((log: string, i: number) => ({
      run: `r${i + 1}`,
      cooler: 'Siskin',
      sample: '1',
      source: 'heater',
      log,
      extra: {},
      line: i + 2,
      ...entry,
    })),
    logFiles: new Map(texts.map(([name, text]) => [name, new TextEncoder().encode(text)])),
    modelFiles: new Map(),
    warnings: [],
    files: [],
  };
}
