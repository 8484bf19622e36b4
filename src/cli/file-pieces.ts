import { closeSync, openSync, readSync } from 'node:fs';
import { BenchError } from '../bench/bench-error.ts';

/**
 * A file piece by piece, each valid until the next is asked for.
 *
 * @param name  what messages call it
 */
export function* piecesOf(place: string, name: string, length: number): Generator<Uint8Array, void> {
  // Fresh memory costs more than the reading of a short file into it.
  const buffer = spare && spare.length >= length ? spare : new Uint8Array(length);
  spare = undefined;
  let descriptor: number | undefined;
  try {
    descriptor = openSync(place, 'r');
    for (;;) {
      const read = readSync(descriptor, buffer, 0, length, null);
      if (read === 0) return;
      yield buffer.subarray(0, read);
    }
  } catch (error) {
    throw unreadable(name, error);
  } finally {
    if (descriptor !== undefined) closeSync(descriptor);
    spare = buffer;
  }
}

/** The buffer of the file read last, where no other is being read into it. */
let spare: Uint8Array | undefined;

/** A file that cannot be read, in words. */
export function unreadable(name: string, error: unknown): BenchError {
  const code = (error as NodeJS.ErrnoException).code ?? 'an unknown error';
  return new BenchError(
    name,
    1,
    1,
    `cannot be read (${code}); check that it is there and that you may read it`,
  );
}
