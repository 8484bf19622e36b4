import { closeSync, fstatSync, openSync, readSync, type Stats, statSync } from 'node:fs';
import { setTimeout as pause } from 'node:timers/promises';
import type { FollowedPlace, Growth } from '../answers/options/command.ts';
import { unreadable } from './file-pieces.ts';

/** How often a file is looked at, ms: a new row is seen well within a fifth of a second, at a few thousandths of a core. */
const EVERY_MS = 100;
const PIECE_LENGTH = 1 << 18;
/** So much before the place reached has to stay what it was. */
const TAIL_LENGTH = 64;

/**
 * Follows files while other programs write them; they are only ever read. A file that is replaced (rotated) is read to its end before the
 * new one is begun; one that is cut, or written anew over the old bytes, is begun anew. One that is not there yet is waited for.
 *
 * @param goesOn  false: ends at the end of the files
 * @throws BenchError where one cannot be read
 */
export async function* growthOf(
  places: readonly FollowedPlace[],
  signal: AbortSignal,
  goesOn = true,
): AsyncGenerator<Growth, void> {
  const files = places.map((one) => new FollowedFile(one));
  let file = 0;
  try {
    while (!signal.aborted) {
      let isNews = false;
      for (file = 0; file < files.length; file++) {
        for (const one of files[file].growth()) {
          isNews = true;
          yield typeof one === 'string' ? { file, is: one } : { file, bytes: one };
          if (signal.aborted) return;
        }
      }
      if (isNews) yield 'all read';
      if (!goesOn) return;
      await pause(EVERY_MS, undefined, { signal }).catch(() => {});
    }
  } catch (error) {
    const isOfSystem = (error as NodeJS.ErrnoException).code !== undefined;
    throw isOfSystem ? unreadable(places[file].name, error) : error;
  } finally {
    for (const one of files) one.close();
  }
}

class FollowedFile {
  private readonly at: FollowedPlace;
  private readonly buffer = new Uint8Array(PIECE_LENGTH);
  private readonly tail = new Uint8Array(TAIL_LENGTH);
  private file: { descriptor: number; inode: number } | undefined;
  private offset = 0;
  private kept = new Uint8Array(0);

  constructor(at: FollowedPlace) {
    this.at = at;
  }

  /** What has come since it was asked last. */
  *growth(): Generator<Uint8Array | 'replaced' | 'waiting', void> {
    const { place, name } = this.at;
    for (;;) {
      const found = statOf(place, name);
      if (!this.file && !found) yield 'waiting';
      if (!this.file && found) {
        this.file = { descriptor: openSync(place, 'r'), inode: found.ino };
        this.begin();
      }
      const { file } = this;
      if (!file) return;
      const { size } = fstatSync(file.descriptor);
      if (size < this.offset || (size > this.offset && !this.isSame(file.descriptor))) {
        this.begin();
        yield 'replaced';
      }
      for (;;) {
        const read = readSync(file.descriptor, this.buffer, 0, PIECE_LENGTH, this.offset);
        if (read === 0) break;
        this.offset += read;
        const bytes = this.buffer.slice(0, read);
        this.kept = joinedTail(this.kept, bytes);
        yield bytes;
      }
      if (!found || found.ino === file.inode) return;
      this.close();
      yield 'replaced';
    }
  }

  close(): void {
    if (this.file) closeSync(this.file.descriptor);
    this.file = undefined;
  }

  private begin(): void {
    this.offset = 0;
    this.kept = new Uint8Array(0);
  }

  private isSame(descriptor: number): boolean {
    const { kept, tail } = this;
    if (kept.length === 0) return true;
    const read = readSync(descriptor, tail, 0, kept.length, this.offset - kept.length);
    return read === kept.length && kept.every((byte, i) => byte === tail[i]);
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
