import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Bench } from '../../src/bench/bench.ts';
import { openBench } from '../../src/cli/open-bench.ts';
import { readBenchFolder } from '../../src/cli/read-folder.ts';
import { run } from '../../src/cli/run.ts';

/** The built command line, which `npm test` builds first. */
export const CLI = fileURLToPath(new URL('../../dist/cli/heatladder.js', import.meta.url));
if (!existsSync(CLI)) throw new Error('the command line is not built: run `npm run build` first');

export interface Ended {
  status: number | null;
  stdout: string;
  stderr: string;
}

/** Runs the built command line as a process, in a folder of its own where paths are short. */
export function heatladderProcess(args: readonly string[], cwd: string): Promise<Ended> {
  return new Promise((done, fail) => {
    const child = spawn(process.execPath, [CLI, ...args], { cwd, stdio: ['ignore', 'pipe', 'pipe'] });
    const text = { stdout: '', stderr: '' };
    for (const name of ['stdout', 'stderr'] as const) {
      child[name].setEncoding('utf8').on('data', (part: string) => {
        text[name] += part;
      });
    }
    child.on('error', fail).on('close', (status) => done({ status, ...text }));
  });
}

/** Benches that stay open, by the bytes of their files, so that what was fitted to one is not fitted again. */
const opened = new Map<string, Bench>();
const MOST_OPENED = 12;

async function openOnce(folder: string): Promise<Bench> {
  const hash = createHash('sha256');
  const files = readBenchFolder(folder);
  for (const [name, bytes] of files) hash.update(`${name} ${bytes.length}\n`).update(bytes);
  // Logs are read from their folder when they are asked for.
  const name = hash.digest('hex') + (files.has('logs.csv') ? resolve(folder) : '');
  const known = opened.get(name);
  if (known) return known;
  const bench = await openBench(folder);
  if (opened.size >= MOST_OPENED) opened.delete(opened.keys().next().value as string);
  opened.set(name, bench);
  return bench;
}

let turn: Promise<unknown> = Promise.resolve();

/** Runs the command line in this process, one call after the other, each in the folder that is given. */
export function heatladder(args: readonly string[], cwd: string): Promise<Ended> {
  const mine = turn.then(async () => {
    const text = { stdout: '', stderr: '' };
    const say = (part: string): void => {
      text.stdout += part;
    };
    const before = process.cwd();
    process.chdir(cwd);
    try {
      const status = await run(args, {
        output: {
          width: 80,
          result: say,
          file: say,
          pieces: async (parts) => {
            for (const part of parts) say(part);
          },
          warn: (message) => {
            text.stderr += `warning: ${message}\n`;
          },
        },
        fault: (line) => {
          text.stderr += `${line}\n`;
        },
        open: openOnce,
      });
      return { status, ...text };
    } finally {
      process.chdir(before);
    }
  });
  turn = mine.catch(() => {});
  return mine;
}

/** A new folder, taken away when the test file ends. */
export function temporaryFolder(): { path: string; remove: () => void } {
  const path = mkdtempSync(join(tmpdir(), 'heatladder-test-'));
  return { path, remove: () => rmSync(path, { recursive: true, force: true }) };
}
