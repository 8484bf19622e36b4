import type { GivenOptions } from '../answers/options/command.ts';
import { parseSeed } from '../answers/options/conditions.ts';
import { fileHashesOf } from './hashed-folder.ts';
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
  const names = [...readBenchFolder(folder, { logs: 'heads' }).keys()].sort();
  const used = names.filter((name) => logs || !names.includes('runs.csv') || !name.startsWith('logs/'));
  return {
    version,
    seed: typeof options.seed === 'string' ? parseSeed(options.seed) : 1,
    inputs: Object.fromEntries(fileHashesOf(folder, used)),
  };
}
