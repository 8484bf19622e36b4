import { closeSync, fstatSync, openSync, readSync, type Stats, statSync } from 'node:fs';
import { setTimeout as pause } from 'node:timers/promises';
import { unreadable } from './file-pieces.ts';

/** How often a file is looked at, ms: a new row is seen well within a fifth of a second, at a few thousandths of a core. */
const EVERY_MS = 50;
const PIECE_LENGTH = 1 << 18;
/** So much before the place reached has to stay what it was. */
const TAIL_LENGTH = 64;

/** Bytes that were added to a file, or word that another one stands in its place. */
export type Growth = { readonly bytes: Uint8Array } | 'replaced' | 'waiting';

/**
 * Follows a file while another program writes it; it is only ever read. A file that is replaced (rotated) is read to its end before the
 * new one is begun; one that is cut, or written anew over the old bytes, is begun anew. One that is not there yet is waited for.
 *
 * @param name  what messages call it
 * @param goesOn  false: ends at the end of the file
 * @throws BenchError where it cannot be read
 */
export async function* growthOf(
  place: string,
  name: string,
  signal: AbortSignal,
  goesOn = true,
): AsyncGenerator<Growth, void> {
  const buffer = new Uint8Array(PIECE_LENGTH);
  const tail = new Uint8Array(TAIL_LENGTH);
  let file: { descriptor: number; inode: number } | undefined;
  let offset = 0;
  let kept = new Uint8Array(0);
  const isSame = (descriptor: number): boolean => {
    if (kept.length === 0) return true;
    const read = readSync(descriptor, tail, 0, kept.length, offset - kept.length);
    return read === kept.length && kept.every((byte, i) => byte === tail[i]);
  };
  try {
    while (!signal.aborted) {
      const found = statOf(place, name);
      if (!file) {
        if (found) {
          file = { descriptor: openSync(place, 'r'), inode: found.ino };
          offset = 0;
          kept = new Uint8Array(0);
        } else yield 'waiting';
      }
      if (file) {
        const { size } = fstatSync(file.descriptor);
        if (size < offset || (size > offset && !isSame(file.descriptor))) {
          offset = 0;
          kept = new Uint8Array(0);
          yield 'replaced';
        }
        for (;;) {
          const read = readSync(file.descriptor, buffer, 0, PIECE_LENGTH, offset);
          if (read === 0) break;
          offset += read;
          const bytes = buffer.slice(0, read);
          kept = joinedTail(kept, bytes);
          yield { bytes };
          if (signal.aborted) return;
        }
        if (found && found.ino !== file.inode) {
          closeSync(file.descriptor);
          file = undefined;
          yield 'replaced';
          continue;
        }
      }
      if (!goesOn) return;
      await pause(EVERY_MS, undefined, { signal }).catch(() => {});
    }
  } catch (error) {
    throw (error as NodeJS.ErrnoException).code === undefined ? error : unreadable(name, error);
  } finally {
    if (file) closeSync(file.descriptor);
  }
}

function statOf(place: string, name: string): Stats | undefined {
  const stats = statSync(place, { throwIfNoEntry: false });
  if (stats?.isDirectory()) throw unreadable(name, { code: 'EISDIR' });
  return stats;
}

function joinedTail(kept: Uint8Array, bytes: Uint8Array): Uint8Array<ArrayBuffer> {
  const both = new Uint8Array(kept.length + Math.min(bytes.length, TAIL_LENGTH));
  both.set(kept);
  both.set(bytes.subarray(Math.max(0, bytes.length - TAIL_LENGTH)), kept.length);
  return both.slice(-TAIL_LENGTH);
}
