import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { readBenchFolder } from './read-folder.ts';

let outside: string;
let folder: string;
beforeEach(() => {
  outside = mkdtempSync(path.join(tmpdir(), 'bench-'));
  folder = path.join(outside, 'bench');
  mkdirSync(path.join(folder, 'logs', 'may'), { recursive: true });
  mkdirSync(path.join(folder, 'models'));
  for (const file of [
    'bench.yaml',
    'runs.csv',
    'notes.txt',
    'logs/may/a.csv',
    'logs/.hidden',
    'models/own.yaml',
  ]) {
    writeFileSync(path.join(folder, file), file);
  }
  writeFileSync(path.join(outside, 'secret.csv'), 'secret');
});
afterEach(() => rmSync(outside, { recursive: true }));

test('reads the files of a bench and no others', () => {
  const files = readBenchFolder(folder);
  expect([...files.keys()].sort()).toEqual(['bench.yaml', 'logs/may/a.csv', 'models/own.yaml', 'runs.csv']);
  expect(new TextDecoder().decode(files.get('runs.csv'))).toBe('runs.csv');
  expect(readBenchFolder(`${folder}/`).size).toBe(4);
});

test('a link is followed inside the folder, refused when it leads out', () => {
  symlinkSync('may/a.csv', path.join(folder, 'logs', 'b.csv'));
  expect(readBenchFolder(folder).has('logs/b.csv')).toBe(true);
  symlinkSync(path.join(outside, 'secret.csv'), path.join(folder, 'noise.csv'));
  expect(() => readBenchFolder(folder)).toThrow(
    'noise.csv:1:1: this is a link that leads out of the bench folder; put the file itself there',
  );
  rmSync(path.join(folder, 'noise.csv'));
  symlinkSync(outside, path.join(folder, 'flatness'));
  expect(() => readBenchFolder(folder)).toThrow(/^flatness:1:1: this is a link that leads out/);
});

test('links in a circle and links to nothing end', () => {
  symlinkSync('.', path.join(folder, 'logs', 'again'));
  expect(() => readBenchFolder(folder)).not.toThrow();
  symlinkSync('nowhere', path.join(folder, 'noise.csv'));
  expect(() => readBenchFolder(folder)).toThrow(/^noise\.csv:1:1: cannot be read \(ENOENT\)/);
});

test('a folder that is not there, a file, a folder in the place of a file', () => {
  const wanted = 'a bench is a folder with bench.yaml and runs.csv or logs.csv in it';
  expect(() => readBenchFolder(path.join(outside, 'bnch'))).toThrow(`does not exist; ${wanted}`);
  expect(() => readBenchFolder(path.join(folder, 'runs.csv'))).toThrow(`is a file; ${wanted}`);
  mkdirSync(path.join(folder, 'coolers.csv'));
  expect(() => readBenchFolder(folder)).toThrow(
    'coolers.csv:1:1: this is not a file; put a plain file there',
  );
});
