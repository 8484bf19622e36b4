import { sha256Hex } from './sha256.ts';

/** A file that the answers stand on, by its SHA-256 in hexadecimal digits. */
export interface FileHash {
  file: string;
  sha256: string;
}

/**
 * SHA-256 of every file of a bench, in the order of their names.
 *
 * @param files  as for `readBench`
 * @param hashes  of those files whose bytes are not all here; see `datasetIdentity`
 */
export function fileHashes(
  files: ReadonlyMap<string, Uint8Array>,
  hashes: ReadonlyMap<string, string> = new Map(),
): FileHash[] {
  return [...files]
    .map(([file, bytes]) => ({ file, sha256: hashes.get(file) ?? sha256Hex(bytes) }))
    .sort((a, b) => (a.file < b.file ? -1 : a.file > b.file ? 1 : 0));
}
