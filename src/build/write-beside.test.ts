import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeEach, describe, expect, it } from 'vitest';

interface Bundled {
  path: string;
  text: string;
}
// Plain JavaScript without declarations, so the compiler is not asked to look at it.
const module: string = './write-beside.mjs';
const { replaceBundle, writeBeside } = (await import(/* @vite-ignore */ module)) as {
  replaceBundle: (entry: string, files: Bundled[], options?: { mode?: number; keepOld?: boolean }) => void;
  writeBeside: (path: string, content: string, options?: { mode?: number }) => void;
};

const home = mkdtempSync(join(tmpdir(), 'heatladder-beside-'));
afterAll(() => rmSync(home, { recursive: true, force: true }));

let folder = '';
let entry = '';
beforeEach(() => {
  folder = mkdtempSync(join(home, 'dist-'));
  entry = join(folder, 'program.mjs');
});

/** A program that says that it is there, waits for a word, and only then loads its chunk, which loads another. */
function bundle(version: number): Bundled[] {
  return [
    {
      path: entry,
      text: `console.log('there'); process.stdin.once('data', async () => { console.log((await import('./chunks/answer-${version}.mjs')).answer); process.exit(0); });`,
    },
    {
      path: join(folder, 'chunks', `answer-${version}.mjs`),
      text: `export { answer } from './inner-${version}.mjs';`,
    },
    { path: join(folder, 'chunks', `inner-${version}.mjs`), text: `export const answer = ${version};` },
  ];
}

async function started() {
  const child = spawn(process.execPath, [entry], { stdio: ['pipe', 'pipe', 'inherit'] });
  let said = '';
  child.stdout.setEncoding('utf8').on('data', (part: string) => {
    said += part;
  });
  await once(child.stdout, 'data');
  return async () => {
    child.stdin.write('go\n');
    const [status] = await once(child, 'close');
    return { status, said };
  };
}

describe('a bundle replaced', () => {
  it('lets a program that began with the old one end with it, and starts the new one', async () => {
    replaceBundle(entry, bundle(1));
    const old = await started();
    replaceBundle(entry, bundle(2));
    expect(await old()).toEqual({ status: 0, said: 'there\n1\n' });
    expect(await (await started())()).toEqual({ status: 0, said: 'there\n2\n' });
  });

  it('keeps one bundle of the past, or none where that is asked', () => {
    for (const version of [1, 2, 3]) replaceBundle(entry, bundle(version));
    const chunks = () => readdirSync(join(folder, 'chunks')).sort();
    expect(chunks()).toEqual(['answer-2.mjs', 'answer-3.mjs', 'inner-2.mjs', 'inner-3.mjs']);
    replaceBundle(entry, bundle(4), { keepOld: false });
    expect(chunks()).toEqual(['answer-4.mjs', 'inner-4.mjs']);
    expect(readdirSync(folder).sort()).toEqual(['chunks', 'program.mjs']);
  });
});

describe('a file written beside', () => {
  it('is another file than the one that was read from, unless it holds the same', () => {
    const path = join(folder, 'new', 'file.txt');
    writeBeside(path, 'a');
    const first = statSync(path);
    writeBeside(path, 'a', { mode: 0o755 });
    expect(statSync(path).ino).toBe(first.ino);
    if (process.platform !== 'win32') expect(statSync(path).mode & 0o777).toBe(0o755);
    writeBeside(path, 'b');
    expect(statSync(path).ino).not.toBe(first.ino);
    expect(readFileSync(path, 'utf8')).toBe('b');
    expect(readdirSync(join(folder, 'new'))).toEqual(['file.txt']);
  });
});
