/**
 * The package as a user gets it: packed, installed into an empty folder, run and imported there.
 *
 * The built files are packed as they are (`npm test` builds them first).
 */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { temporaryFolder } from '../cli/run-cli.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));
const folder = temporaryFolder();
const home = join(folder.path, 'empty');
const npm = process.platform === 'win32' ? 'npm.cmd' : 'npm';
let offline = '';

const run = (command: string, args: readonly string[], cwd = home) =>
  spawnSync(command, args, { cwd, encoding: 'utf8', timeout: 170_000 });

beforeAll(() => {
  mkdirSync(home);
  const packed = run(npm, ['pack', '--ignore-scripts', '--pack-destination', folder.path], root);
  expect(packed.status, packed.stderr).toBe(0);
  const tarball = readdirSync(folder.path).find((name) => name.endsWith('.tgz')) as string;
  writeFileSync(join(home, 'package.json'), '{"name": "empty", "private": true, "type": "module"}');
  const installed = run(npm, [
    'install',
    join('..', tarball),
    '--prefer-offline',
    '--no-audit',
    '--no-fund',
    '--ignore-scripts',
  ]);
  if (/ENOTFOUND|ECONNREFUSED|ECONNRESET|EAI_AGAIN|ETIMEDOUT|ENOTCACHED|network/i.test(installed.stderr)) {
    offline = 'no registry within reach: the package cannot be installed here';
    return;
  }
  expect(installed.status, installed.stderr).toBe(0);
}, 180_000);
afterAll(folder.remove);

describe('the package, installed from its tarball into an empty folder', () => {
  const only = (name: string, check: () => void) =>
    it(name, { timeout: 120_000 }, (context) => {
      if (offline !== '') context.skip(offline);
      check();
    });

  only('runs the demo by npx', () => {
    const version = run('npx', ['--no-install', 'heatladder', '--version']);
    const { version: stated } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8'));
    expect(version.stdout.trim()).toBe(stated);
    expect(run('npx', ['--no-install', 'heatladder', 'init', 'demo-bench']).status).toBe(0);
    const compared = run('npx', ['--no-install', 'heatladder', 'compare', 'demo-bench', '--json']);
    expect(compared.status, compared.stderr).toBe(0);
    expect(JSON.parse(compared.stdout).pairs.length).toBe(21);
    const page = run('npx', ['--no-install', 'heatladder', 'report', 'demo-bench', '-o', 'demo.html']);
    expect(page.status, page.stderr).toBe(0);
    expect(readFileSync(join(home, 'demo.html'), 'utf8')).toMatch(/^<!doctype html>/i);
  });

  only('is a library with an engine in it', () => {
    writeFileSync(
      join(home, 'use.js'),
      `import { fitFormula, init, predict, readBench } from 'heatladder';
       const bench = readBench(init());
       const { parameters } = fitFormula({ formula: 'a + b*x', data: { x: [1, 2, 3], y: [3, 5, 7] }, start: { a: 0, b: 1 } });
       console.log(JSON.stringify([predict(bench, { power_W: [200] }).predictions.length, parameters.b.value]));`,
    );
    const used = run(process.execPath, ['use.js']);
    expect(used.status, used.stderr).toBe(0);
    const [count, slope] = JSON.parse(used.stdout);
    expect(count).toBe(7);
    expect(slope).toBeCloseTo(2, 9);
  });

  only('is typed: right use compiles, wrong use does not', () => {
    const compile = (name: string, text: string) => {
      writeFileSync(join(home, name), text);
      const options = [
        '--noEmit',
        '--strict',
        '--module',
        'nodenext',
        '--target',
        'es2023',
        '--lib',
        'es2023,dom',
      ];
      return run(process.execPath, [
        join(root, 'node_modules/typescript/bin/tsc'),
        ...options,
        '--types',
        '',
        name,
      ]);
    };
    const right = compile(
      'right.ts',
      `import { type CompareResult, compare, readBench } from 'heatladder';
       const result: CompareResult = compare(readBench(new Map<string, Uint8Array>()), { power_W: [100, 200] });
       export const best: string = result.loads[0].order[0].cooler;`,
    );
    expect(right.stdout).toBe('');
    const wrong = compile(
      'wrong.ts',
      `import { compare, readBench } from 'heatladder';
       export const result = compare(readBench(new Map<string, Uint8Array>()), { power: [100, 200] });`,
    );
    expect(wrong.stdout).toMatch(/'power' does not exist/);
  });

  only('holds what it says and nothing of the workshop', () => {
    const installed = join(home, 'node_modules', 'heatladder');
    for (const name of ['LICENSE', 'README.md', 'CHANGELOG.md', 'CITATION.cff', 'models', 'dist']) {
      expect(existsSync(join(installed, name)), name).toBe(true);
    }
    for (const name of ['src', 'test', 'notebooks', 'node_modules']) {
      expect(existsSync(join(installed, name)), name).toBe(false);
    }
  });
});
