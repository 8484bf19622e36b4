import {
  closeSync,
  existsSync,
  fchmodSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readdirSync,
  realpathSync,
  renameSync,
  rmdirSync,
  rmSync,
  statSync,
  writeSync,
} from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { BenchError } from '../bench/bench-error.ts';

/**
 * Files that appear whole or not at all: written beside their place under another name, pushed to the disk, then
 * renamed. Whoever reads the place sees the old file or the new one, never half of one.
 */

/** Why the system refused, without a path in it. */
function reason(error: unknown): string {
  const code = (error as NodeJS.ErrnoException).code ?? '';
  const known: Record<string, string> = {
    ENOENT: 'the folder above it does not exist; give a place in a folder that does',
    ENOTDIR: 'a part of the path is not a folder; give a place in a folder',
    EACCES: 'no permission to write there; give a place that you may write to',
    EPERM: 'no permission to write there; give a place that you may write to',
    EROFS: 'the disk is read-only; give a place that you may write to',
    ENOSPC: 'the disk is full; free some space and run again',
    EDQUOT: 'the quota of the disk is used up; free some space and run again',
    ENAMETOOLONG: 'the name is too long; give a shorter one',
    EFBIG: 'the file is larger than the system allows; give another place',
    EISDIR: 'it is a folder; give the name of a file',
  };
  return known[code] ?? `the system refused to write it (${code || 'unknown'}); give another place`;
}

/** A name beside `path` that nothing has yet. */
function beside(path: string): string {
  for (let i = 0; ; i++) {
    const candidate = join(dirname(path), `.${basename(path)}.${process.pid}-${i}.part`);
    if (!existsSync(candidate)) return candidate;
  }
}

function writeAll(descriptor: number, bytes: Uint8Array): void {
  let at = 0;
  while (at < bytes.length) at += writeSync(descriptor, bytes, at, bytes.length - at);
}

/** Pushes a folder's entries to the disk where the system can; elsewhere the rename alone has to do. */
function syncFolder(path: string): void {
  try {
    const descriptor = openSync(path, 'r');
    try {
      fsyncSync(descriptor);
    } finally {
      closeSync(descriptor);
    }
  } catch {
    // Not every system lets a folder be opened.
  }
}

/**
 * Writes a file whole or not at all. A link is followed; a device or a pipe is written straight.
 *
 * @param option  option that gave the path, for the message
 * @throws BenchError when the system refuses; the old file is then as it was
 */
export function writeFileWhole(path: string, bytes: Uint8Array, option: string): void {
  let temporary: string | undefined;
  try {
    const old = statSync(path, { throwIfNoEntry: false });
    if (old?.isDirectory()) throw Object.assign(new Error('folder'), { code: 'EISDIR' });
    if (old !== undefined && !old.isFile()) {
      const descriptor = openSync(path, 'w');
      try {
        writeAll(descriptor, bytes);
      } finally {
        closeSync(descriptor);
      }
      return;
    }
    const target = old === undefined ? path : realpathSync(path);
    temporary = beside(target);
    const descriptor = openSync(temporary, 'wx', 0o666);
    try {
      if (old !== undefined) fchmodSync(descriptor, old.mode & 0o777);
      writeAll(descriptor, bytes);
      fsyncSync(descriptor);
    } finally {
      closeSync(descriptor);
    }
    renameSync(temporary, target);
    temporary = undefined;
    syncFolder(dirname(target));
  } catch (error) {
    if (temporary !== undefined) rmSync(temporary, { force: true });
    throw new BenchError(option, 1, 1, `cannot write "${path}": ${reason(error)}`);
  }
}

/**
 * Writes a new folder whole or not at all. The place must be free or an empty folder.
 *
 * @param files  bytes by path inside the folder, with forward slashes
 * @throws BenchError when the place holds something or the system refuses; nothing is then left behind
 */
export function writeFolderWhole(
  path: string,
  files: ReadonlyMap<string, Uint8Array>,
  operand: string,
): void {
  let temporary: string | undefined;
  try {
    const old = statSync(path, { throwIfNoEntry: false });
    if (old !== undefined && !old.isDirectory()) {
      throw new BenchError(operand, 1, 1, `"${path}" is a file; give the name of a new folder`);
    }
    if (old !== undefined && readdirSync(path).length > 0) {
      throw new BenchError(
        operand,
        1,
        1,
        `"${path}" is not empty, and nothing in it is overwritten; give the name of a new folder`,
      );
    }
    const target = old === undefined ? path.replace(/(?<=[^/\\])[/\\]+$/, '') : realpathSync(path);
    temporary = beside(target);
    mkdirSync(temporary);
    for (const [name, bytes] of files) {
      const place = join(temporary, ...name.split('/'));
      mkdirSync(dirname(place), { recursive: true });
      const descriptor = openSync(place, 'wx');
      try {
        writeAll(descriptor, bytes);
        fsyncSync(descriptor);
      } finally {
        closeSync(descriptor);
      }
    }
    if (old !== undefined) rmdirSync(target);
    renameSync(temporary, target);
    temporary = undefined;
    syncFolder(dirname(target));
  } catch (error) {
    if (temporary !== undefined) rmSync(temporary, { force: true, recursive: true });
    if (error instanceof BenchError) throw error;
    throw new BenchError(operand, 1, 1, `cannot make "${path}": ${reason(error)}`);
  }
}
