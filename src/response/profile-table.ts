import { bindColumns, type ColumnPlan } from '../bench/columns.ts';
import { fault, readTable } from '../bench/table.ts';
import type { ProfileStep } from './load-profile.ts';

const plan: ColumnPlan = {
  texts: [],
  numbers: [
    { quantity: 'time', dimension: 'time', required: true },
    { quantity: 'power', dimension: 'power', required: true, low: 0, high: 1e6 },
    { quantity: 'fan', dimension: 'speed', low: 0, above: true, high: 1e6 },
  ],
};

/**
 * Reads a load profile: `time_s, power_W`, optional `fan_rpm`, or other units by the names of the columns; each row is held
 * until the next. A blank fan speed is the speed before.
 *
 * @throws BenchError at the cell that is wrong: no number, a time that does not come after the one before, a load below
 *   zero, a fan that stands still
 * @example readProfile('steps.csv', new TextEncoder().encode('time_min,power_W\n0,200\n10,0\n'))[1] // { time_s: 600, power_W: 0 }
 */
export function readProfile(file: string, bytes: Uint8Array): ProfileStep[] {
  const bound = bindColumns(readTable(file, bytes), plan);
  const { table } = bound;
  if (table.rows.length === 0) {
    throw fault(table, table.header, 0, 'there is no row below the header; a profile needs at least one');
  }
  let before: number | undefined;
  return table.rows.map((row) => {
    const time_s = bound.requiredNumber(row, 'time_s');
    if (before !== undefined && !(time_s > before)) {
      throw bound.fault(
        row,
        'time_s',
        `the time ${time_s} s does not come after ${before} s in the row before; times must ascend`,
      );
    }
    before = time_s;
    const fan_rpm = bound.number(row, 'fan_rpm');
    return {
      time_s,
      power_W: bound.requiredNumber(row, 'power_W'),
      ...(fan_rpm !== undefined && { fan_rpm }),
    };
  });
}
