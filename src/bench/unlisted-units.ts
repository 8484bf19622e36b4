import { yamlQuantities } from './bench-yaml.ts';
import { coolersPlan } from './coolers-table.ts';
import { flatnessPlan } from './flatness-table.ts';
import { logsPlan } from './logs-index.ts';
import { noisePlan } from './noise-table.ts';
import { type Quantity, readName } from './quantity.ts';
import { withoutLeadingFolder } from './read-bench.ts';
import { optionalRunNumbers, runsPlan } from './runs-table.ts';
import { readTable } from './table.ts';
import { type Dimension, dimensions } from './unit-table.ts';

const logQuantities: readonly Quantity[] = [
  { quantity: 'time', dimension: 'time' },
  ...runsPlan.numbers.filter((column) => column.required),
  ...optionalRunNumbers,
];

/**
 * Names of columns and keys whose unit the table of units does not list and which might be a unit all the same.
 *
 * Empty for nearly every bench; where it is not, a caller that can load mathjs registers its converter before reading.
 * A name that is no unit at all (`source_serial`) may be among them and does no harm.
 *
 * @param files  as for `readBench`
 * @example unlistedUnits(new Map([['runs.csv', new TextEncoder().encode('cooler,power_BTU_per_hour\n')]])) // ['power_BTU_per_hour']
 */
export function unlistedUnits(files: Map<string, Uint8Array>): string[] {
  const found = new Set<string>();
  const look = (names: Iterable<string>, quantities: readonly Quantity[]) => {
    for (const name of names) {
      const reading = readName(name, quantities);
      if (reading.kind !== 'unknown-unit') continue;
      const dimension: Dimension = dimensions[reading.quantity.dimension];
      if (dimension.reference !== '') found.add(name);
    }
  };
  for (const [path, bytes] of withoutLeadingFolder(files)) {
    if (path === 'bench.yaml') {
      const text = new TextDecoder().decode(bytes.subarray(0, 1024 * 1024));
      look(
        Array.from(text.matchAll(/([A-Za-z]\w{0,99})["']?\s*:/g), (match) => match[1]),
        yamlQuantities,
      );
    } else {
      const quantities = quantitiesOf(path);
      if (quantities) look(headerOf(path, bytes), quantities);
    }
  }
  return [...found];
}

function quantitiesOf(path: string): readonly Quantity[] | undefined {
  if (path === 'runs.csv') return runsPlan.numbers;
  if (path === 'logs.csv') return logsPlan.numbers;
  if (path === 'coolers.csv') return coolersPlan.numbers;
  if (path === 'noise.csv') return noisePlan.numbers;
  if (path.startsWith('flatness/')) return flatnessPlan.numbers;
  return path.startsWith('logs/') ? logQuantities : undefined;
}

function headerOf(path: string, bytes: Uint8Array): readonly string[] {
  const end = bytes.findIndex((byte, index) => index > 65536 || byte === 10 || byte === 13);
  try {
    return readTable(path, end < 0 ? bytes.subarray(0, 65536) : bytes.subarray(0, end)).header.cells;
  } catch {
    return [];
  }
}
