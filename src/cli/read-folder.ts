import { type Dirent, readdirSync, readFileSync, realpathSync, statSync } from 'node:fs';
import path from 'node:path';
import { BenchError } from '../bench/bench-error.ts';
import { isRead } from '../bench/read-bench.ts';
import { shown } from '../bench/wording.ts';
import { DECISIONS_FILE } from '../months/decisions-file.ts';
import { piecesOf, unreadable } from './file-pieces.ts';

const fileLimit = 1024 ** 3;
const headLength = 16 * 1024;

export interface FolderOptions {
  /** `heads`: only the beginning of each log, enough for its header; logs may be longer than memory. Default `whole`. */
  readonly logs?: 'whole' | 'heads';
}

/**
 * Reads the files of a bench folder, for `readBench`, and its `decisions.yaml`; every other file is left alone.
 *
 * A symbolic link is followed only to a place inside the folder.
 *
 * @param folder  path of the bench folder, as the user gave it
 * @returns bytes by path inside the folder, with forward slashes
 * @throws BenchError if there is no such folder, a link leads out of it, or a file cannot be read; the message names
 *   files by their place in the folder only
 */
export function readBenchFolder(folder: string, options: FolderOptions = {}): Map<string, Uint8Array> {
  const root = openFolder(folder);
  const files = new Map<string, Uint8Array>();
  const visit = (below: string, depth: number) => {
    for (const entry of entriesOf(root, below)) {
      const name = below === '' ? entry.name : `${below}/${entry.name}`;
      const wantedFolder = /^(logs|flatness|models)(\/|$)/.test(name);
      const wantedFile = isRead(name) || name === DECISIONS_FILE;
      if (!wantedFolder && !wantedFile) continue;
      if (entry.isSymbolicLink()) refuseLeadingOut(root, name);
      const stats = stat(root, name);
      if (stats.isDirectory() && wantedFolder) {
        if (depth < 4) visit(name, depth + 1);
      } else if (wantedFile) {
        if (!stats.isFile()) throw new BenchError(name, 1, 1, 'this is not a file; put a plain file there');
        if (options.logs === 'heads' && name.startsWith('logs/')) files.set(name, readHead(root, name));
        else if (stats.size > fileLimit)
          throw new BenchError(name, 1, 1, 'the file is larger than 1 GiB; split it');
        else files.set(name, readBytes(root, name));
      }
    }
  };
  visit('', 0);
  return files;
}

function openFolder(folder: string): string {
  const wanted = 'a bench is a folder with bench.yaml and runs.csv or logs.csv in it';
  try {
    const root = realpathSync(folder);
    if (statSync(root).isDirectory()) return root;
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    const what = code === 'EACCES' ? 'cannot be opened' : 'does not exist';
    throw new BenchError('bench', 0, 0, `the folder ${shown(folder)} ${what}; ${wanted}`);
  }
  throw new BenchError('bench', 0, 0, `${shown(folder)} is a file; ${wanted}`);
}

function entriesOf(root: string, below: string): Dirent[] {
  try {
    return readdirSync(path.join(root, below), { withFileTypes: true });
  } catch (error) {
    throw unreadable(below === '' ? 'bench' : below, error);
  }
}

function stat(root: string, name: string) {
  try {
    return statSync(path.join(root, name));
  } catch (error) {
    throw unreadable(name, error);
  }
}

function readBytes(root: string, name: string): Uint8Array {
  try {
    const { buffer, byteOffset, byteLength } = readFileSync(path.join(root, name));
    return new Uint8Array(buffer, byteOffset, byteLength);
  } catch (error) {
    throw unreadable(name, error);
  }
}

function readHead(root: string, name: string): Uint8Array {
  for (const piece of piecesOf(path.join(root, name), name, new Uint8Array(headLength))) return piece.slice();
  return new Uint8Array(0);
}

function refuseLeadingOut(root: string, name: string): void {
  let target: string;
  try {
    target = realpathSync(path.join(root, name));
  } catch (error) {
    throw unreadable(name, error);
  }
  const inside = path.relative(root, target);
  if (inside === '' || inside === '..' || inside.startsWith(`..${path.sep}`) || path.isAbsolute(inside)) {
    throw new BenchError(
      name,
      1,
      1,
      'this is a link that leads out of the bench folder; put the file itself there',
    );
  }
}
