import { BenchError } from '../../bench/bench-error.ts';

const NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/;

function fault(what: string): BenchError {
  return new BenchError('--power', 0, 0, what);
}

/** A finite number, or `undefined` for anything else, hexadecimal and blanks included. */
export function number(text: string): number | undefined {
  const value = NUMBER.test(text) ? Number(text) : Number.NaN;
  return Number.isFinite(value) ? value : undefined;
}

/** More loads than this are taken for a slip of the step. */
const MOST_LOADS = 2000;

const ACCEPTED_LOADS = 'give loads in W above 0 such as 150,250, or from:to:step such as 50:350:10';

function oneLoad(text: string): number {
  const value = number(text.trim());
  if (value === undefined) throw fault(`"${text}" is not a load; ${ACCEPTED_LOADS}`);
  if (value <= 0) throw fault(`${text.trim()} W is not above 0; ${ACCEPTED_LOADS}`);
  if (value > 1e6) throw fault(`${text.trim()} W is beyond any cooler; ${ACCEPTED_LOADS}`);
  return value;
}

function range(text: string): number[] {
  const parts = text.split(':');
  if (parts.length !== 3) {
    throw fault(`"${text}" is not a range; give from:to:step such as 50:350:10`);
  }
  const [from, to, step] = parts.map(oneLoad);
  if (to < from) {
    throw fault(`the range ends at ${to} W, below its start of ${from} W; give the lesser load first`);
  }
  const count = Math.floor((to - from) / step + 1e-9) + 1;
  if (count > MOST_LOADS) {
    throw fault(`a step of ${step} W makes ${count} loads; give a step that makes at most ${MOST_LOADS}`);
  }
  // Twelve digits, so that 50:51:0.1 gives 50.3 and not 50.300000000000004.
  const loads = Array.from({ length: count }, (_, i) => Number((from + i * step).toPrecision(12)));
  if (to - loads[loads.length - 1] > 1e-9 * to) loads.push(to);
  return loads;
}

/**
 * Loads of `--power`, ascending and each once.
 *
 * @example parseLoads('50:70:10,200') // [50, 60, 70, 200]
 * @throws BenchError that quotes the part that is no load
 */
export function parseLoads(text: string): number[] {
  const loads = text.split(',').flatMap((part) => (part.includes(':') ? range(part) : [oneLoad(part)]));
  return [...new Set(loads)].sort((a, b) => a - b);
}
