import { existsSync, lstatSync, realpathSync } from 'node:fs';
import { basename, dirname, join, relative, sep } from 'node:path';
import { BenchError } from '../bench/bench-error.ts';
import { isRead } from '../bench/read-bench.ts';
import { DECISIONS_FILE } from '../months/decisions-file.ts';
import { reason } from './write-whole.ts';

/**
 * The place that `-o` names, `-` for standard output; looked at before the work starts.
 *
 * @throws BenchError for a file that a bench is read from, which the answer would replace, and for a link that leads nowhere
 */
export function placeOf(given: string | true | undefined): string | undefined {
  if (typeof given !== 'string' || given === '-') return given === '-' ? given : undefined;
  let target: string;
  try {
    if (lstatSync(given, { throwIfNoEntry: false }) === undefined)
      target = join(realpathSync(dirname(given)), basename(given));
    else target = realpathSync(given);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    const dangling =
      lstatSync(given, { throwIfNoEntry: false })?.isSymbolicLink() === true && code === 'ENOENT';
    const what = dangling
      ? 'it is a link to a place that does not exist; give the name of a file'
      : reason(error);
    throw new BenchError('--output', 0, 0, `cannot write "${given}": ${what}`);
  }
  for (let folder = dirname(target); ; folder = dirname(folder)) {
    const name = relative(folder, target).replaceAll(sep, '/');
    if (existsSync(join(folder, 'bench.yaml')) && (isRead(name) || name === DECISIONS_FILE)) {
      const what = `"${given}" is ${name} of a bench, which would be lost; give another name such as plan-1.csv`;
      throw new BenchError('--output', 0, 0, what);
    }
    if (folder === dirname(folder)) return given;
  }
}
