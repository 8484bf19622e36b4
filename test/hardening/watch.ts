/**
 * Runs a target on an input and says how it ended. Between inputs it looks whether anything was left behind that a reader
 * of data never leaves: a property on a built-in prototype, or a global.
 */
import { BenchError } from '../../src/bench/bench-error.ts';
import { CANARY } from './mutations.ts';
import type { Target } from './targets.ts';

export interface Ending {
  readonly outcome: 'read' | 'refused';
  readonly milliseconds: number;
}

const watched = [Object, Array, Map, String, Number, Function, Error].map((type) => type.prototype as object);
const before = watched.map((prototype) => Reflect.ownKeys(prototype).length);
const globals = Reflect.ownKeys(globalThis).length;

/** @throws Error for whatever a reader must not do */
export function runOn(target: Target, input: unknown): Ending {
  const start = performance.now();
  let outcome: Ending['outcome'] = 'read';
  try {
    target.take(input as never);
  } catch (error) {
    if (error instanceof BenchError) checkMessage(error);
    else if (!target.documented?.(error)) throw error;
    outcome = 'refused';
  }
  const milliseconds = performance.now() - start;
  watched.forEach((prototype, k) => {
    if (Reflect.ownKeys(prototype).length !== before[k]) throw new Error('a built-in prototype was changed');
  });
  if (CANARY in globalThis || Reflect.ownKeys(globalThis).length > globals + 8) {
    throw new Error('something ran: a global was set');
  }
  return { outcome, milliseconds };
}

/** A place and a sentence on one line, without a stack and without a place of this machine. */
function checkMessage(error: BenchError): void {
  // A fault of an option begins with the option and has no line.
  const isPlaced = error.file.startsWith('--')
    ? /^--[a-z-]+: [^\n\r]{10,}$/.test(error.message)
    : Number.isInteger(error.line) &&
      error.line >= 1 &&
      Number.isInteger(error.column) &&
      error.column >= 1 &&
      /^[^\n]+:\d+:\d+: [^\n\r]{10,}$/.test(error.message);
  const fine =
    isPlaced && error.message.length < 6000 && !/ at [^ ]+ \(.*:\d+:\d+\)|node_modules/.test(error.message);
  if (!fine) throw new Error(`not a message for people: ${JSON.stringify(error.message.slice(0, 400))}`);
}
