import { bindColumns, type ColumnPlan } from '../bench/columns.ts';
import { readTable } from '../bench/table.ts';
import { shown } from '../bench/wording.ts';
import { writeTable } from '../bench/write-table.ts';
import { cautionsByRun } from './on-sheet.ts';
import type { PlanResult, RehearseOptions } from './planned.ts';

const COLUMNS = [
  'order',
  'cooler',
  'sample',
  'power_W',
  'fan_rpm',
  'remount',
  'minutes',
  'gain',
  'purpose',
  'method',
  'climb_W',
] as const;

/**
 * A plan as a table: one row a run, in the order to be done, with the loads that lead up to it and what is to be minded; before the first
 * run stands what a bench must have before it heats.
 */
export function planCsv(result: Pick<PlanResult, 'runs' | 'warnings' | 'safety'>): string {
  const { runs } = result;
  const cautions = cautionsByRun(result);
  const rows = runs.map((run) => ({
    ...run,
    gain: Number(run.gain.toPrecision(4)),
    method: run.method ?? '',
    climb_W: run.climb_W.join(' '),
    caution: (cautions.get(run.order) ?? []).join(' | '),
  }));
  return writeTable([...COLUMNS, 'source', 'caution'], rows);
}

const plan: ColumnPlan = {
  texts: [
    { name: 'cooler', required: true },
    { name: 'sample' },
    { name: 'source' },
    { name: 'remount' },
    { name: 'minutes' },
    { name: 'purpose' },
  ],
  numbers: [
    { quantity: 'power', dimension: 'power', required: true, low: 0, above: true },
    { quantity: 'fan', dimension: 'speed', low: 0, high: 1e6 },
  ],
};

const YES = ['true', 'yes', '1'];
const NO = ['false', 'no', '0'];

const PURPOSES = ['question', 'reference', 'bridge'] as const;

function isPurpose(text: string): text is (typeof PURPOSES)[number] {
  return (PURPOSES as readonly string[]).includes(text);
}

/**
 * Reads a plan that `plan -o` wrote or a person did: `cooler, power_W`, optional `sample, source, fan_rpm, remount (true or false), minutes,
 * purpose (question, reference or bridge)`; other columns
 * are left alone. Without `remount` every run is on fresh paste.
 *
 * @throws BenchError at the cell that is wrong
 */
export function readPlan(file: string, bytes: Uint8Array): RehearseOptions['runs'] {
  const bound = bindColumns(readTable(file, bytes), plan);
  return bound.table.rows.map((row) => {
    const remount = bound.text(row, 'remount')?.toLowerCase();
    if (remount !== undefined && !YES.includes(remount) && !NO.includes(remount)) {
      throw bound.fault(row, 'remount', `remount is ${shown(remount)}; true or false is accepted`);
    }
    const minutes = bound.text(row, 'minutes');
    if (minutes !== undefined && !(Number(minutes) > 0 && Number.isFinite(Number(minutes)))) {
      throw bound.fault(row, 'minutes', `minutes is ${shown(minutes)}; a number above 0 is accepted`);
    }
    const purpose = bound.text(row, 'purpose')?.toLowerCase();
    if (purpose !== undefined && !isPurpose(purpose)) {
      throw bound.fault(row, 'purpose', `purpose is ${shown(purpose)}; ${PURPOSES.join(', ')} are accepted`);
    }
    const sample = bound.name(row, 'sample');
    const source = bound.name(row, 'source');
    const fan_rpm = bound.number(row, 'fan_rpm');
    return {
      cooler: bound.requiredName(row, 'cooler'),
      power_W: bound.requiredNumber(row, 'power_W'),
      ...(sample !== undefined && { sample }),
      ...(source !== undefined && { source }),
      ...(fan_rpm !== undefined && { fan_rpm }),
      ...(remount !== undefined && { remount: YES.includes(remount) }),
      ...(purpose !== undefined && { purpose }),
      ...(minutes !== undefined && { minutes: Number(minutes) }),
    };
  });
}
