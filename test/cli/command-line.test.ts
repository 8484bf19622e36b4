import { spawn } from 'node:child_process';
import { chmodSync, existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { catalogue } from '../../src/answers/commands.ts';
import { CLI, type Ended, heatladder, heatladderProcess, temporaryFolder } from './run-cli.ts';

const folder = temporaryFolder();
const call = (...args: string[]): Promise<Ended> => heatladder(args, folder.path);
const inside = (...parts: string[]): string => join(folder.path, ...parts);

beforeAll(async () => {
  // Made by the built program; every other call here is in this process.
  expect((await heatladderProcess(['init', 'demo'], folder.path)).status).toBe(0);
});
afterAll(folder.remove);

/** Bad use: status 2, nothing on standard output, one line `place: …` without a line and a column, and no stack trace. */
function expectRefusal(ended: Ended, start: string, ...parts: (string | RegExp)[]): void {
  expect(ended.stdout).toBe('');
  expect(ended.stderr.startsWith(start), ended.stderr).toBe(true);
  expect(ended.stderr).toMatch(/^[^\n:]+: [^\n]+\n$/);
  expect(ended.stderr).not.toMatch(/:\d+:\d+:/);
  for (const part of parts) expect(ended.stderr).toMatch(part);
  expect(ended.status).toBe(2);
}

describe('help', () => {
  it('lists every command, and each command shows its options and one example', async () => {
    const overview = await call('--help');
    expect(overview.status).toBe(0);
    expect(overview.stderr).toBe('');
    for (const { name, summary } of catalogue) {
      expect(overview.stdout).toContain(name);
      expect(overview.stdout.replace(/\s+/g, ' ')).toContain(summary);
      const help = await call(name, '--help');
      expect(help.status).toBe(0);
      expect(help.stdout).toContain(`Usage: heatladder ${name} <`);
      expect(help.stdout.match(/^Example$/gm)).toHaveLength(1);
      expect(help.stdout).toMatch(new RegExp(`^ {2}heatladder ${name} `, 'm'));
      for (const line of help.stdout.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
    }
  });

  it('says the version of the package', async () => {
    const manifest = JSON.parse(readFileSync(new URL('../../package.json', import.meta.url), 'utf8')) as {
      version: string;
    };
    expect((await call('--version')).stdout).toBe(`${manifest.version}\n`);
  });
});

describe('bad use', () => {
  it.each([
    [['predcit', 'demo'], 'heatladder: ', /did you mean "predict"/],
    [['frobnicate'], 'heatladder: ', /give one of init, /],
    [['--bogus'], 'heatladder: ', /no command/],
    [['init'], 'heatladder: ', /needs a folder/],
    [['init', 'x', 'y'], 'heatladder: ', /"y" is one folder too many/],
    [['init', 'x', '--sede', '2'], '--sede: ', /not an option of init.*did you mean "--seed"/],
    [['init', 'x', '--seed'], '--seed: ', /a value is missing/],
    [['init', 'x', '--seed', '1.5'], '--seed: ', /"1.5" is not a seed; give a whole number/],
    [['init', 'x', '--seed', '1', '--seed', '2'], '--seed: ', /more than once/],
  ])('%j is refused in one line', async (args, start, part) => {
    expectRefusal(await call(...args), start, part);
    expect(existsSync(inside('x'))).toBe(false);
  });

  it('a message stays on one line whatever the argument holds', async () => {
    expectRefusal(await call('fro\nb'), 'heatladder: ');
  });
});

describe('init', () => {
  it('makes the same bytes from the same seed and others from another', async () => {
    await call('init', 'again', '--seed', '1');
    await call('init', 'other', '--seed', '2');
    const filesOf = (folder: string) =>
      readdirSync(inside(folder), { recursive: true, withFileTypes: true })
        .filter((entry) => entry.isFile())
        .map((entry) => relative(inside(folder), join(entry.parentPath, entry.name)))
        .sort();
    const names = filesOf('demo');
    expect(names).toContain('bench.yaml');
    expect(names).toContain('runs.csv');
    expect(filesOf('again')).toEqual(names);
    for (const name of names) {
      expect(readFileSync(inside('again', name)).equals(readFileSync(inside('demo', name)))).toBe(true);
    }
    expect(readFileSync(inside('other', 'runs.csv'))).not.toEqual(readFileSync(inside('demo', 'runs.csv')));
  });

  it('uses an empty folder and leaves a full one alone', async () => {
    mkdirSync(inside('empty'));
    expect((await call('init', 'empty')).status).toBe(0);
    mkdirSync(inside('full'));
    writeFileSync(inside('full', 'mine.txt'), 'mine');
    expectRefusal(await call('init', 'full'), '<folder>: ', /not empty.*new folder/);
    expect(readdirSync(inside('full'))).toEqual(['mine.txt']);
    expectRefusal(await call('init', 'full/mine.txt'), '<folder>: ', /is a file/);
    expectRefusal(await call('init', 'nowhere/demo'), '<folder>: ', /does not exist/);
  });

  it('leaves nothing half made behind', async () => {
    const before = readdirSync(folder.path);
    expect(before.filter((name) => name.endsWith('.part'))).toEqual([]);
    mkdirSync(inside('locked'));
    chmodSync(inside('locked'), 0o500);
    const ended = await call('init', 'locked/demo');
    // The superuser may write anywhere: then the folder is simply made.
    if (ended.status === 2) expectRefusal(ended, '<folder>: ', /permission/);
    chmodSync(inside('locked'), 0o700);
    expect(readdirSync(inside('locked')).filter((name) => name.endsWith('.part'))).toEqual([]);
  });
});

describe('the built program', () => {
  it.each([[['--version']], [['fit', '--help']], [['fit', 'demo']], [['fit', 'demo', '--power', '-1']]])(
    'ends at %j as the same call in this process',
    async (args) => {
      expect(await heatladderProcess(args, folder.path)).toEqual(await call(...args));
    },
  );
});

describe('a reader that goes away', () => {
  it('is no fault', async () => {
    const child = spawn(process.execPath, [CLI, 'init', '--help'], { stdio: ['ignore', 'pipe', 'pipe'] });
    child.stdout.destroy();
    let stderr = '';
    child.stderr.setEncoding('utf8').on('data', (part: string) => {
      stderr += part;
    });
    const status = await new Promise((resolve) => child.on('close', resolve));
    expect(stderr).toBe('');
    expect(status).toBe(0);
  });
});
