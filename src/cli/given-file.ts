import { statSync } from 'node:fs';
import { BenchError } from '../bench/bench-error.ts';
import { piecesOf } from './file-pieces.ts';

/** Far more than any plan or profile; a device without an end stops here. */
const MOST_BYTES = 128 * 1024 * 1024;
const PIECE_LENGTH = 1 << 20;

/** A file that an option names, with its name as given. */
export interface GivenFile {
  name: string;
  bytes: Uint8Array;
}

/**
 * Reads the file that an option names; a pipe (`<(…)`, `/dev/stdin`) is read as well.
 *
 * @param wanted  what would be accepted, as in "give the file that plan -o wrote"
 * @throws BenchError where the option is missing, or names what cannot be read, is no file, or has no end
 */
export function readGivenFile(option: string, name: string | true | undefined, wanted: string): GivenFile {
  const fault = (what: string) => new BenchError(option, 0, 0, `${what}; ${wanted}`);
  if (typeof name !== 'string') throw fault('the file is missing');
  const stats = statSync(name, { throwIfNoEntry: false });
  if (stats === undefined) throw fault(`there is no file "${name}"`);
  if (!stats.isFile() && !stats.isFIFO()) throw fault(`"${name}" is not a file`);
  const pieces: Uint8Array[] = [];
  let length = 0;
  try {
    for (const piece of piecesOf(name, name, new Uint8Array(PIECE_LENGTH))) {
      length += piece.length;
      if (length > MOST_BYTES) throw fault(`"${name}" holds more than 128 MiB`);
      pieces.push(piece.slice());
    }
  } catch (error) {
    throw error instanceof BenchError && error.file === option ? error : fault(`cannot read "${name}"`);
  }
  return { name, bytes: Buffer.concat(pieces) };
}
