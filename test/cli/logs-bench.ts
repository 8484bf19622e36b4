import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { type LogRecipe, makeLog, seeded } from '../logs/make-logs.ts';

/** Resistance into the air of the invented coolers at 1,200 rpm, K/W. */
export const RESISTANCE = { Heron: 0.16, Reed: 0.2, Sedge: 0.24 } as const;
export const LOADS = [80, 140, 200] as const;

/** A ladder from source to air of so many K/W: base and fins. */
export function elementsOf(resistance_K_per_W: number): LogRecipe['elements'] {
  return [
    { resistance_K_per_W: 0.06, time_s: 10 },
    { resistance_K_per_W: resistance_K_per_W - 0.06, time_s: 90 },
  ];
}

export function recipeOf(
  resistance_K_per_W: number,
  loads: LogRecipe['loads'],
  more: Partial<LogRecipe> = {},
): LogRecipe {
  return {
    loads,
    elements: elementsOf(resistance_K_per_W),
    interval_s: 1,
    noise_K: 0.04,
    correlation: 0.5,
    ambient_C: 22,
    wander_K: 0.15,
    wander_s: 600,
    ambientNoise_K: 0.02,
    powerNoise_W: 0.1,
    rounding_K: 0.01,
    ambientRounding_K: 0.01,
    ...more,
  };
}

/** Writes a bench of raw logs: three coolers, two fittings each, a log with all loads in a row for each fitting. */
export function writeLogsBench(folder: string): void {
  mkdirSync(join(folder, 'logs'), { recursive: true });
  const index = ['run,cooler,sample,mount,source,session,shelf,log'];
  Object.entries(RESISTANCE).forEach(([cooler, resistance], c) => {
    for (const mount of [1, 2]) {
      const loads = LOADS.map((power_W) => ({ power_W, seconds: 900 }));
      const fitted = resistance + (mount === 1 ? 0.002 : -0.002);
      const name = `${cooler.toLowerCase()}-${mount}`;
      const { csv } = makeLog(recipeOf(fitted, loads), seeded(40 + 2 * c + mount));
      writeFileSync(join(folder, 'logs', `${name}.csv`), csv);
      index.push(`${name},${cooler},1,${mount},heater,may,B${c},${name}.csv`);
    }
  });
  writeFileSync(join(folder, 'logs.csv'), `${index.join('\n')}\n`);
  writeFileSync(
    join(folder, 'bench.yaml'),
    [
      'name: Logs of three coolers',
      'ambient: {setpoint_C: 22, tolerance_K: 1}',
      'heater: {power_max_W: 300, temperature_limit_C: 70, leak_W_per_K: {value: 0, uncertainty: 0.02}}',
      '',
    ].join('\n'),
  );
}
