import { readFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import type { Files } from '../answers/options/command.ts';
import { BenchError } from '../bench/bench-error.ts';
import { shown } from '../bench/wording.ts';
import { readGivenFile } from './given-file.ts';
import { hashedFolder } from './hashed-folder.ts';
import { metaOf } from './meta.ts';
import { openFolder, reducedWhereNeeded } from './open-bench.ts';
import { placeOf } from './output-place.ts';
import { startProgress } from './progress.ts';
import { growthOfLog, untilStopped, watchedLog } from './watched-log.ts';
import { contentOf, writeFileWhole, writeFolderWhole } from './write-whole.ts';

const STANDARD_INPUT = 0;
const bytesOf = (text: string) => new TextEncoder().encode(text);

/** The files of this machine. */
export const nodeFiles: Files = {
  openFolder,
  reduced: reducedWhereNeeded,
  contentOf: (folder, name) => contentOf(join(folder, name)),
  table: (place) => ({ name: place === '-' ? 'standard input' : basename(place), bytes: readTable(place) }),
  given: readGivenFile,
  placeOf,
  write: (place, text, option) => writeFileWhole(place, bytesOf(text), option),
  replace: (folder, name, text, before) =>
    writeFileWhole(join(folder, name), bytesOf(text), name, { before: before as Buffer | undefined }),
  writeFolder: writeFolderWhole,
  hashed: hashedFolder,
  meta: metaOf,
  watchedLog,
  growth: growthOfLog,
  untilStopped,
  progress: startProgress,
};

function readTable(place: string): Uint8Array {
  try {
    return new Uint8Array(readFileSync(place === '-' ? STANDARD_INPUT : place));
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    if (place === '-' && code === 'EAGAIN') return new Uint8Array();
    const why = code === 'EISDIR' ? 'is a folder' : code === 'ENOENT' ? 'does not exist' : 'cannot be read';
    throw new BenchError(
      '<table>',
      0,
      0,
      `${shown(place)} ${why}; give a table saved as CSV, or - to pipe one in`,
    );
  }
}
