import { createHash } from 'node:crypto';
import { realpathSync } from 'node:fs';
import { join } from 'node:path';
import { piecesOf } from './file-pieces.ts';
import { readBenchFolder } from './read-folder.ts';

const PIECE_LENGTH = 1 << 20;

/**
 * The files of a bench folder with the SHA-256 of each, of the logs no more than their heads: logs may be longer than memory.
 *
 * @throws BenchError as `readBenchFolder`
 */
export function hashedFolder(folder: string): {
  files: Map<string, Uint8Array>;
  hashes: Map<string, string>;
} {
  const files = readBenchFolder(folder, { logs: 'heads' });
  return { files, hashes: fileHashesOf(folder, [...files.keys()]) };
}

/**
 * SHA-256 in hexadecimal of files of a bench folder, read piece by piece.
 *
 * @param names  as `readBenchFolder` gives them
 */
export function fileHashesOf(folder: string, names: readonly string[]): Map<string, string> {
  const root = realpathSync(folder);
  const buffer = new Uint8Array(PIECE_LENGTH);
  return new Map(
    names.map((name) => {
      const hash = createHash('sha256');
      for (const piece of piecesOf(join(root, name), name, buffer)) hash.update(piece);
      return [name, hash.digest('hex')];
    }),
  );
}
