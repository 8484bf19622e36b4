import { isRead, withoutLeadingFolder } from '../bench/read-bench.ts';
import type { FileHash } from '../report/file-hashes.ts';
import { sha256Hex } from '../report/sha256.ts';

/** What a set of bench files is, to the last byte. */
export interface DatasetIdentity {
  /** SHA-256, hexadecimal. */
  readonly sha256: string;
  readonly files: FileHash[];
}

/**
 * The identity of a bench: the SHA-256 of a list of its files with theirs.
 *
 * The list has one line a file that the bench reads, in order of the file's name: its SHA-256 in hexadecimal, two blanks, its
 * path, a line feed; in UTF-8. Any tool that knows SHA-256 (FIPS 180-4) can do it again. Notes and the record itself are no
 * part of it.
 *
 * @param files  as for `readBench`
 * @param hashes  SHA-256 in hexadecimal, by path as in `files`, of those files whose bytes are not all here
 */
export function datasetIdentity(
  files: Map<string, Uint8Array>,
  hashes: ReadonlyMap<string, string> = new Map(),
): DatasetIdentity {
  const own = [...withoutLeadingFolder(files)]
    .filter(([file]) => isRead(file))
    .map(([file, bytes]) => ({ file, sha256: hashes.get(file) ?? sha256Hex(bytes) }));
  const list = own.map(({ file, sha256 }) => `${sha256}  ${file}\n`).join('');
  return { sha256: sha256Hex(new TextEncoder().encode(list)), files: own };
}
