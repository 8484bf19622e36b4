import { createHash } from 'node:crypto';
import { closeSync, openSync, readSync, realpathSync } from 'node:fs';
import { join } from 'node:path';
import type { GivenOptions } from './command.ts';
import { parseSeed } from './conditions.ts';
import { readBenchFolder } from './read-folder.ts';
import { version } from './version.ts';

/** What an answer was made with: enough to make it again, and to see that it would be the same. */
export interface Meta {
  /** Of heatladder. */
  version: string;
  seed: number;
  /** SHA-256 of every file of the bench, by its place in the folder. Logs are among them where the answer comes from logs. */
  inputs: Record<string, string>;
}

/** @param logs  whether the answer was made from the logs too; they can be large */
export function metaOf(folder: string, options: GivenOptions, logs = false): Meta {
  const root = realpathSync(folder);
  const names = [...readBenchFolder(folder, { logs: 'heads' }).keys()].sort();
  const used = names.filter((name) => logs || !names.includes('runs.csv') || !name.startsWith('logs/'));
  return {
    version,
    seed: typeof options.seed === 'string' ? parseSeed(options.seed) : 1,
    inputs: Object.fromEntries(used.map((name) => [name, sha256OfFile(join(root, name))])),
  };
}

function sha256OfFile(path: string): string {
  const hash = createHash('sha256');
  const piece = Buffer.alloc(1 << 20);
  const descriptor = openSync(path, 'r');
  try {
    for (;;) {
      const length = readSync(descriptor, piece, 0, piece.length, null);
      if (length === 0) return hash.digest('hex');
      hash.update(piece.subarray(0, length));
    }
  } finally {
    closeSync(descriptor);
  }
}
