import {
  closeSync,
  existsSync,
  fchmodSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readdirSync,
  readFileSync,
  realpathSync,
  renameSync,
  rmdirSync,
  rmSync,
  statSync,
} from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { BenchError } from '../bench/bench-error.ts';
import { writeAll } from './write-all.ts';

/**
 * Files that appear whole or not at all: written beside their place under another name, pushed to the disk, then
 * renamed. Whoever reads the place sees the old file or the new one, never half of one.
 */

/** Why the system refused, without a path in it. */
export function reason(error: unknown): string {
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

/** A name beside `path` that nothing has yet. What processes that ended have left for it is taken away. */
function temporaryPath(path: string): string {
  const [folder, name] = [dirname(path), basename(path)];
  for (const entry of readdirSync(folder)) {
    if (!entry.startsWith(`.${name}.`)) continue;
    const process_id = /^(\d+)-\d+\.part$/.exec(entry.slice(name.length + 2))?.[1];
    if (process_id && !isAlive(Number(process_id)))
      rmSync(join(folder, entry), { force: true, recursive: true });
  }
  for (let i = 0; ; i++) {
    const candidate = join(folder, `.${name}.${process.pid}-${i}.part`);
    if (!existsSync(candidate)) return candidate;
  }
}

/** Whether a process of that number runs. */
function isAlive(process_id: number): boolean {
  try {
    process.kill(process_id, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

/** What a file holds, `undefined` where there is none or it cannot be read. */
export function contentOf(path: string): Buffer | undefined {
  try {
    return readFileSync(path);
  } catch {
    return undefined;
  }
}

const sameBytes = (a: Buffer | undefined, b: Buffer | undefined): boolean =>
  a === undefined || b === undefined ? a === b : a.equals(b);

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
 * @param known  what the file held when it was read to make `bytes` of it: whoever has changed it since keeps it as it is
 * @throws BenchError when the system refuses or the file has changed; the old file is then as it was
 */
export function writeFileWhole(
  path: string,
  bytes: Uint8Array,
  option: string,
  known?: { before: Buffer | undefined },
): void {
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
    temporary = temporaryPath(target);
    const descriptor = openSync(temporary, 'wx', 0o666);
    try {
      if (old !== undefined) fchmodSync(descriptor, old.mode & 0o777);
      writeAll(descriptor, bytes);
      fsyncSync(descriptor);
    } finally {
      closeSync(descriptor);
    }
    const now = known && contentOf(target);
    if (known && !sameBytes(known.before, now) && !now?.equals(bytes)) {
      throw new BenchError(
        option,
        0,
        0,
        'was changed since it was read, and is left as it now is; run again',
      );
    }
    renameSync(temporary, target);
    temporary = undefined;
    syncFolder(dirname(target));
  } catch (error) {
    if (temporary !== undefined) rmSync(temporary, { force: true });
    if (error instanceof BenchError) throw error;
    throw new BenchError(option, 0, 0, `cannot write "${path}": ${reason(error)}`);
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
      throw new BenchError(operand, 0, 0, `"${path}" is a file; give the name of a new folder`);
    }
    if (old !== undefined && readdirSync(path).length > 0) {
      throw new BenchError(
        operand,
        0,
        0,
        `"${path}" is not empty, and nothing in it is overwritten; give the name of a new folder`,
      );
    }
    const target = old === undefined ? path.replace(/(?<=[^/\\])[/\\]+$/, '') : realpathSync(path);
    temporary = temporaryPath(target);
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
    throw new BenchError(operand, 0, 0, `cannot make "${path}": ${reason(error)}`);
  }
}
