/**
 * The package as a user gets it: packed, installed into an empty folder, run and imported there.
 *
 * The built files are packed as they are (`npm test` builds them first).
 */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { temporaryFolder } from '../cli/run-cli.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));
const folder = temporaryFolder();
const home = join(folder.path, 'empty');
const npm = process.platform === 'win32' ? 'npm.cmd' : 'npm';
let offline = '';

const rightUse = `import {
  type Bench, type CompareResult, type Conditions, type CoolerFit, type FitResult, type Pair, type PlanOptions, type PlanResult,
  type PredictResult, type Prediction, BenchError, compare, fit, plan, predict, readBench,
} from 'heatladder';

const conditions: Conditions = { power_W: [100, 200], ambient_C: 24, level: 0.9 };
export function answers(files: Map<string, Uint8Array>) {
  const bench: Bench = readBench(files);
  const fitted: FitResult = fit(bench);
  const predicted: PredictResult = predict(bench, conditions);
  const compared: CompareResult = compare(bench, conditions);
  const options: PlanOptions = { hours: 8, target_W: [200] };
  const planned: PlanResult = plan(bench, options);
  const coolers: readonly CoolerFit[] = fitted.coolers;
  const predictions: readonly Prediction[] = predicted.predictions;
  const pairs: readonly Pair[] = compared.pairs;
  const first: string | undefined = compared.loads[0]?.order[0]?.cooler;
  const widths: number[] = predictions.map(({ run_low_K, run_high_K }) => run_high_K - run_low_K);
  return { coolers, first, pairs, runs: planned.runs.length, widths };
}

export const place = (error: unknown): string =>
  error instanceof BenchError ? \`\${error.file}:\${error.line}:\${error.column}\` : '';
`;

const wrongUse = `import { type Bench, compare, fit } from 'heatladder';
export declare const bench: Bench;
export const misspelt = compare(bench, { powr_W: [100, 200] });
export const mistaken: string = fit(bench).coolers[0]?.cooler.length ?? 0;
export type { Asymptote } from 'heatladder';
`;

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

  describe('is typed', () => {
    const declarations = () => readFileSync(join(home, 'node_modules/heatladder/dist/index.d.ts'), 'utf8');

    /** What a strict project of a user's finds wrong with a file, the declarations of the package checked along. */
    const faults = (name: string, text: string, [compiler, module, resolution, lib]: readonly string[]) => {
      const project = join(home, name);
      mkdirSync(project, { recursive: true });
      writeFileSync(join(project, 'use.ts'), text);
      const compilerOptions = {
        exactOptionalPropertyTypes: true,
        lib: lib.split(','),
        module,
        moduleResolution: resolution,
        noEmit: true,
        noUncheckedIndexedAccess: true,
        skipLibCheck: false,
        strict: true,
        target: 'es2023',
        types: [],
        verbatimModuleSyntax: true,
      };
      writeFileSync(join(project, 'tsconfig.json'), JSON.stringify({ compilerOptions, files: ['use.ts'] }));
      const { stdout, stderr } = run(process.execPath, [compiler, '--project', project, '--pretty', 'false']);
      return (stdout + stderr).trim();
    };

    const ours = join(root, 'node_modules/typescript/bin/tsc');
    // The extractor brings the compiler of before, which most users still have.
    const requireOfRoot = createRequire(join(root, 'src/build/declarations/package.json'));
    const earlier = createRequire(requireOfRoot.resolve('@microsoft/api-extractor')).resolve(
      'typescript/lib/tsc.js',
    );
    const ways: [string, string[]][] = [
      ['node16', [ours, 'node16', 'node16', 'es2023']],
      ['nodenext', [ours, 'nodenext', 'nodenext', 'es2023']],
      ['a bundler', [ours, 'esnext', 'bundler', 'es2023']],
      ['a browser', [ours, 'esnext', 'bundler', 'es2023,dom']],
      ['nodenext of the compiler before', [earlier, 'nodenext', 'nodenext', 'es2023']],
    ];

    for (const [way, options] of ways) {
      only(`for ${way}: right use compiles, wrong use does not`, () => {
        expect(faults('right', rightUse, options)).toBe('');
        const wrong = faults('wrong', wrongUse, options).split('\n');
        expect(wrong.map((line) => line.replace(/^.*use\.ts\((\d+),.*?(TS\d+).*$/, '$1 $2'))).toEqual([
          '3 TS2561',
          '4 TS2322',
          '5 TS2305',
        ]);
      });
    }

    only('with names that can all be written', () => {
      const names = [...declarations().matchAll(/^(?:export )?declare (?:interface|type|class) (\w+)/gm)].map(
        ([, name]) => name,
      );
      expect(names.length).toBeGreaterThan(80);
      const text = `export type { ${names.join(', ')} } from 'heatladder';\n`;
      expect(faults('names', text, ways[1][1])).toBe('');
    });

    only('by one file that knows no other', () => {
      const code = declarations().replace(/\/\*[\s\S]*?\*\//g, '');
      expect(code.match(/\bimport\b.*|\bfrom ['"].*|\brequire\b.*|\/\/\/.*/g)).toBeNull();
      expect(code.match(/['"][^'"\n]*(?:\.ts|\.\.?\/)[^'"\n]*['"]/g)).toBeNull();
      expect(code.match(/^(?!export )declare .*|\b(?:private|protected) .*|#\w+.*|\b_\w+.*/gm)).toBeNull();
      const installed = join(home, 'node_modules', 'heatladder');
      const declaring = readdirSync(installed, { recursive: true, encoding: 'utf8' }).filter((path) =>
        /\.d\.[cm]?ts$/.test(path),
      );
      expect(declaring).toEqual([join('dist', 'index.d.ts')]);
    });
  });

  only('holds what it says and nothing of the workshop', () => {
    const installed = join(home, 'node_modules', 'heatladder');
    for (const name of ['LICENSE', 'README.md', 'CHANGELOG.md', 'CITATION.cff', 'models', 'dist']) {
      expect(existsSync(join(installed, name)), name).toBe(true);
    }
    for (const name of ['src', 'test', 'notebooks', 'node_modules']) {
      expect(existsSync(join(installed, name)), name).toBe(false);
    }
    expect(readdirSync(join(installed, 'dist')).sort()).toEqual(['chunks', 'cli', 'index.d.ts', 'index.js']);
  });
});
