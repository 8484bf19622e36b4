import { closeSync, openSync, readSync } from 'node:fs';
import { BenchError } from '../bench/bench-error.ts';

/**
 * A file piece by piece, each valid until the next is asked for.
 *
 * @param name  what messages call it
 * @param buffer  holds the pieces: for many files one and the same, since fresh memory costs more than the reading of a short file into it
 */
export function* piecesOf(place: string, name: string, buffer: Uint8Array): Generator<Uint8Array, void> {
  let descriptor: number | undefined;
  try {
    descriptor = openSync(place, 'r');
    for (;;) {
      const read = readSync(descriptor, buffer, 0, buffer.length, null);
      if (read === 0) return;
      yield buffer.subarray(0, read);
    }
  } catch (error) {
    throw unreadable(name, error);
  } finally {
    if (descriptor !== undefined) closeSync(descriptor);
  }
}

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
