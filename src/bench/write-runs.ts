import type { Run } from './bench.ts';
import { readName } from './quantity.ts';
import { runsPlan } from './runs-table.ts';
import { writeTable } from './write-table.ts';

/** Columns of every runs.csv that is written, then those that stand only where a run has them. */
const always = [
  'run',
  'cooler',
  'sample',
  'mount',
  'source',
  'power_W',
  'fan_rpm',
  'source_C',
  'ambient_C',
] as const satisfies readonly (keyof Run)[];
const where = [
  'u_K',
  'sound_dBA',
  'session',
  'method',
  'started',
  'fan_duty_percent',
  'pump_rpm',
  'coolant_C',
  'pressure_hPa',
  'orientation',
  'paste',
  'torque_Nm',
  'operator',
  'note',
  'log',
] as const satisfies readonly (keyof Run)[];

/** A further column of an index of logs may be one that runs.csv has for itself, under this name or in another unit. */
function isKnown(name: string): boolean {
  return (
    runsPlan.texts.some((text) => text.name === name) || readName(name, runsPlan.numbers).kind === 'read'
  );
}

/**
 * Runs as the text of runs.csv, which `readBench` reads back as the same runs.
 *
 * Numbers are in the bench's own units whatever the file had, to twelve digits, so that 0.1825 kW is 182.5 W again.
 * Columns that the reader does not know follow at the end.
 *
 * @example writeRuns(bench.runs).split('\n')[0] // 'run,cooler,sample,mount,source,power_W,fan_rpm,…'
 */
export function writeRuns(runs: readonly Run[]): string {
  const further = where.filter((name) => runs.some((run) => run[name] !== undefined));
  const unknown = [...new Set(runs.flatMap((run) => Object.keys(run.extra)))].filter(
    (name) => !isKnown(name),
  );
  const names = [...always, ...further];
  const rows = runs.map((run) => {
    const row: Record<string, string | number | undefined> = Object.assign(Object.create(null), run.extra);
    for (const name of names) {
      const value = run[name];
      row[name] = typeof value === 'number' ? Number(value.toPrecision(12)) : value;
    }
    return row;
  });
  return writeTable([...names, ...unknown], rows);
}
