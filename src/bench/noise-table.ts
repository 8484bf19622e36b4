import type { NoiseReading } from './bench.ts';
import { bindColumns, type ColumnPlan, type ReadOptions } from './columns.ts';
import { didYouMean } from './nearest-name.ts';
import { readTable } from './table.ts';
import { listed, shown } from './wording.ts';

export const noisePlan: ColumnPlan = {
  texts: [{ name: 'cooler', required: true }, { name: 'sample' }, { name: 'session' }],
  numbers: [
    { quantity: 'fan', dimension: 'speed', required: true, low: 0, high: 1e6 },
    { quantity: 'sound', dimension: 'level', required: true, low: 0, high: 194 },
    { quantity: 'pump', dimension: 'speed', low: 0, high: 1e6 },
  ],
};

/** A fan that turns at all turns faster; a lower number is a slip of unit or column. */
const LEAST_RPM = 1;

/** Reads `noise.csv`: levels as metered, background included. */
export function readNoise(
  file: string,
  bytes: Uint8Array,
  coolers: ReadonlySet<string>,
  options: ReadOptions,
): NoiseReading[] {
  const bound = bindColumns(readTable(file, bytes), noisePlan, options);

  return bound.table.rows.map((row) => {
    const cooler = bound.requiredName(row, 'cooler');
    if (!coolers.has(cooler)) {
      throw bound.fault(
        row,
        'cooler',
        `cooler ${shown(cooler)} has neither a run, a log nor a row in coolers.csv${didYouMean(cooler, coolers) || `; accepted: ${listed([...coolers].slice(0, 20))}`}`,
      );
    }
    const pump_rpm = bound.number(row, 'pump_rpm');
    const fan_rpm = bound.requiredNumber(row, 'fan_rpm');
    if (fan_rpm > 0 && fan_rpm < LEAST_RPM) {
      throw bound.fault(
        row,
        'fan_rpm',
        `a fan does not turn at ${fan_rpm} rpm; 0 or at least ${LEAST_RPM} rpm is accepted`,
      );
    }
    const sample = bound.numberedName(row, 'sample');
    const session = bound.name(row, 'session');
    return {
      cooler,
      fan_rpm,
      sound_dBA: bound.requiredNumber(row, 'sound_dBA'),
      ...(pump_rpm !== undefined && { pump_rpm }),
      ...(sample !== undefined && { sample }),
      ...(session !== undefined && { session }),
      line: row.line,
    };
  });
}
