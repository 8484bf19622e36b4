import {
  chmodSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { basename, dirname, join } from 'node:path';

/**
 * Writes a file beside its place and renames it: whoever reads meanwhile gets the old one or the new one, whole.
 *
 * Nothing is touched where the file holds that already, so that watchers and compilers are not woken for nothing.
 *
 * @param {string} path
 * @param {string | Uint8Array} content
 * @param {{ mode?: number }} [options]  permissions, default those of a new file
 */
export function writeBeside(path, content, { mode } = {}) {
  if (!existsSync(path) || !readFileSync(path).equals(Buffer.from(content))) {
    mkdirSync(dirname(path), { recursive: true });
    const beside = join(dirname(path), `.${basename(path)}.${process.pid}`);
    writeFileSync(beside, content);
    if (mode !== undefined) chmodSync(beside, mode);
    renameSync(beside, path);
  } else if (mode !== undefined) chmodSync(path, mode);
}

/**
 * Puts a new bundle where an old one may be running.
 *
 * A bundle is an entry and the chunks that it loads when it needs them; a chunk's name has a hash of its text. New chunks come first
 * and the entry last. Chunks of the bundle that was there stay until the next one, because a program that began with it may still
 * ask for them; older ones go.
 *
 * @param {string} entry  path of the entry
 * @param {{ path: string, text: string }[]} files  the entry and its chunks, which are in the folder `chunks` beside it
 * @param {{ mode?: number, keepOld?: boolean }} [options]  `keepOld` false: nothing of the bundle that was there stays
 */
export function replaceBundle(entry, files, { mode, keepOld = true } = {}) {
  const chunks = join(dirname(entry), 'chunks');
  const kept = new Set(keepOld ? chunksOf(entry, chunks) : []);
  for (const { path, text } of files.filter((file) => file.path !== entry)) {
    writeBeside(path, text);
    kept.add(basename(path));
  }
  writeBeside(entry, files.find((file) => file.path === entry).text, { mode });
  for (const name of existsSync(chunks) ? readdirSync(chunks) : []) {
    if (!kept.has(name)) rmSync(join(chunks, name), { force: true });
  }
}

/** Names of the chunks that an entry can come to ask for, by way of others too. */
function chunksOf(entry, chunks) {
  const reached = new Set();
  if (!existsSync(entry) || !existsSync(chunks)) return reached;
  const there = readdirSync(chunks);
  const waiting = [entry];
  for (let path = waiting.pop(); path !== undefined; path = waiting.pop()) {
    const text = readFileSync(path, 'utf8');
    for (const name of there) {
      if (reached.has(name) || !text.includes(name)) continue;
      reached.add(name);
      waiting.push(join(chunks, name));
    }
  }
  return reached;
}
