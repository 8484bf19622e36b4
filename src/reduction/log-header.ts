import { BenchError } from '../bench/bench-error.ts';
import { didYouMean } from '../bench/nearest-name.ts';
import { acceptedNames, benchName, type Quantity, readName } from '../bench/quantity.ts';

/** The five quantities every log carries, in the order in which the scanner stores them. */
export const requiredQuantities = [
  { quantity: 'time', dimension: 'time' },
  { quantity: 'source', dimension: 'temperature' },
  { quantity: 'ambient', dimension: 'temperature' },
  { quantity: 'power', dimension: 'power' },
  { quantity: 'fan', dimension: 'speed' },
] as const satisfies readonly Quantity[];

/** Further quantities whose mean over the run is carried into its row of runs.csv when the log has them. */
export const carriedQuantities = [
  { quantity: 'sound', dimension: 'level' },
  { quantity: 'fan_duty', dimension: 'share' },
  { quantity: 'pump', dimension: 'speed' },
  { quantity: 'coolant', dimension: 'temperature' },
  { quantity: 'pressure', dimension: 'pressure' },
] as const satisfies readonly Quantity[];

const quantities: readonly Quantity[] = [...requiredQuantities, ...carriedQuantities];

/** What the scanner has to know of a header: where each column of the file goes and how its unit converts. */
export interface LogHeader {
  /** Names as the file writes them. */
  readonly names: readonly string[];
  /** Place in a stored row of each column of the file; −1 for a column that is not read. */
  readonly slot: Int32Array;
  readonly factor: Float64Array;
  readonly offset: Float64Array;
  /** Bench names of the carried columns present, at slots 5, 6, … */
  readonly carried: readonly string[];
}

/**
 * Reads the header of a log: any column order, units in the names, unknown columns left alone.
 *
 * @param file     name for messages
 * @param cells    the header's cells, unquoted
 * @param columns  1-based character column at which each cell begins
 * @param line     line of the header
 * @throws BenchError naming the cell that gives a quantity twice, without a unit or in an unknown one, or listing
 *   the columns that are missing
 */
export function readLogHeader(
  file: string,
  cells: readonly string[],
  columns: readonly number[],
  line: number,
): LogHeader {
  const names = cells.map((cell) => cell.trim());
  const slot = new Int32Array(names.length).fill(-1);
  const factor = new Float64Array(names.length).fill(1);
  const offset = new Float64Array(names.length);
  const seen = new Map<number, string>();
  const carried: string[] = [];
  names.forEach((name, index) => {
    const refuse = (what: string) => new BenchError(file, line, columns[index], what);
    const reading = readName(name, quantities);
    if (reading.kind === 'other') return;
    const which = quantities.indexOf(reading.quantity);
    const required = which < requiredQuantities.length;
    if (reading.kind !== 'read') {
      if (!required || seen.has(which) || hasAnother(names, index, reading.quantity)) return;
      const accepted = acceptedNames(reading.quantity);
      throw refuse(
        reading.kind === 'no-unit'
          ? `column "${name}" has no unit; write ${accepted[0]} (or ${accepted.slice(1).join(', ')})`
          : `column "${name}" has a unit that is not known; accepted are ${accepted.join(', ')}`,
      );
    }
    const earlier = seen.get(which);
    if (earlier !== undefined) {
      throw refuse(`"${name}" and "${earlier}" are the same quantity; keep one of the two columns`);
    }
    seen.set(which, name);
    factor[index] = reading.conversion.factor;
    offset[index] = reading.conversion.offset;
    if (required) slot[index] = which;
    else {
      slot[index] = requiredQuantities.length + carried.length;
      carried.push(benchName(reading.quantity));
    }
  });
  const missing = requiredQuantities.filter((_, which) => !seen.has(which)).map(benchName);
  if (missing.length > 0) {
    const unused = names.filter((_, index) => slot[index] < 0 && names[index] !== '');
    const hints = missing.map(
      (name) => `${name}${didYouMean(name, unused).replace('did you mean', 'is it the column')}`,
    );
    const found = names
      .filter((name) => name !== '')
      .slice(0, 30)
      .map((name) => `"${name}"`)
      .join(', ');
    throw new BenchError(
      file,
      line,
      1,
      `missing ${missing.length === 1 ? 'column' : 'columns'} ${hints.join(', ')}; the header has ${found || 'no names'}`,
    );
  }
  return { names, slot, factor, offset, carried };
}

function hasAnother(names: readonly string[], index: number, quantity: Quantity): boolean {
  return names.some((name, other) => {
    const reading = other === index ? undefined : readName(name, quantities);
    return reading?.kind === 'read' && reading.quantity === quantity;
  });
}
