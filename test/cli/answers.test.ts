import {
  chmodSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { CompareResult } from '../../src/answers/compare.ts';
import type { FitResult } from '../../src/answers/fit.ts';
import type { PredictResult } from '../../src/answers/predict.ts';
import { Answers } from '../../src/report/answers.ts';
import type { PageData } from '../../src/report/page-data.ts';
import { type Ended, heatladder, heatladderProcess, temporaryFolder } from './run-cli.ts';

const folder = temporaryFolder();
const call = (...args: string[]): Promise<Ended> => heatladder(args, folder.path);
const inside = (...parts: string[]): string => join(folder.path, ...parts);
let coolers: string[] = [];

beforeAll(async () => {
  expect((await call('init', 'demo')).status).toBe(0);
  const rows = readFileSync(inside('demo', 'coolers.csv'), 'utf8').trim().split('\n').slice(1);
  coolers = rows.map((row) => row.split(',')[0]);
});
afterAll(folder.remove);

/** The one JSON document of a call, which must have said nothing else on standard output. */
async function json<T>(...args: string[]): Promise<T> {
  const ended = await call(...args, '--json');
  expect(ended.stderr).not.toMatch(/^[^\n]+:\d+:\d+: /);
  expect(ended.status).toBe(0);
  expect(ended.stdout.endsWith('}\n')).toBe(true);
  expect(ended.stdout).not.toMatch(/NaN|Infinity/);
  expect(ended.stdout).not.toContain(folder.path);
  return JSON.parse(ended.stdout) as T;
}

describe('answers from the demo bench', () => {
  it('fit gives each cooler its models, weights and parameters, and the scatter', async () => {
    const result = await json<FitResult>('fit', 'demo');
    expect(result.coolers.map((c) => c.cooler).sort()).toEqual([...coolers].sort());
    for (const cooler of result.coolers) {
      expect(cooler.models.reduce((sum, m) => sum + m.weight, 0)).toBeCloseTo(1, 9);
    }
    expect(Object.keys(result.scatter)).toEqual([
      'mount_K_per_W',
      'sample_K_per_W',
      'session_K_per_W',
      'reading_K',
    ]);
  });

  it('compare names the pairs that are the same within a margin, by the limits that it prints', async () => {
    const { pairs, same_within } = await json<CompareResult>(
      'compare',
      'demo',
      '--power',
      '120',
      '--margin',
      '3',
    );
    const within = pairs.filter(({ difference: [d] }) => d.low_K > -3 && d.high_K < 3);
    expect(within.length).toBeGreaterThan(0);
    expect(same_within?.pairs.map(({ a, b }) => [a, b])).toEqual(within.map(({ a, b }) => [a, b]));
    const text = await call('compare', 'demo', '--power', '120', '--margin', '0.01');
    expect(text.stdout).toMatch(/No pair is shown to be the same within 0.01 K/);
    expect((await call('compare', 'demo', '--margin', '0')).stderr).toMatch(/^--margin: .*give K above 0/);
  });

  it('predict answers for every cooler at every load, and marks what was not run', async () => {
    const result = await json<PredictResult>('predict', 'demo', '--power', '120:240:60');
    expect(result.predictions).toHaveLength(coolers.length * 3);
    for (const p of result.predictions) {
      expect(p.mean_low_K).toBeLessThan(p.rise_K);
      expect(p.mean_high_K).toBeGreaterThan(p.rise_K);
      expect(p.extrapolated).toBe(p.power_W > 200);
    }
  });

  it('compare at one load answers for that load alone', async () => {
    const one = await json<CompareResult>('compare', 'demo', '--power', '150');
    expect(one.loads.map((at) => at.power_W)).toEqual([150]);
    expect(one.pairs).toHaveLength((coolers.length * (coolers.length - 1)) / 2);
    const some = await json<CompareResult>(
      'compare',
      'demo',
      '--power',
      '150',
      '--cooler',
      coolers.slice(0, 2).join(),
    );
    expect(some.loads[0].order.map((e) => e.cooler).sort()).toEqual(coolers.slice(0, 2).sort());
  });

  it('gives the same bytes twice', async () => {
    // Once here and once by the built program.
    const args = ['compare', 'demo', '--json'];
    expect(await heatladderProcess(args, folder.path)).toEqual(await call(...args));
  });

  it('prints tables that fit 80 columns where no --json is given', async () => {
    for (const command of ['fit', 'predict', 'compare']) {
      const ended = await call(command, 'demo');
      expect(ended.status).toBe(0);
      for (const line of ended.stdout.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
      for (const name of coolers) expect(ended.stdout).toContain(name);
    }
  });

  it('refuses a condition at its column, and a fault of a file at its own place', async () => {
    const bad = await call('compare', 'demo', '--power', '150,abc');
    expect(bad).toEqual({
      status: 2,
      stdout: '',
      stderr:
        '--power: "abc" is not a load; give loads in W above 0 such as 150,250, or from:to:step such as 50:350:10\n',
    });
    mkdirSync(inside('broken'));
    writeFileSync(inside('broken', 'bench.yaml'), 'name: broken\n');
    writeFileSync(inside('broken', 'runs.csv'), 'cooler,power_W,fan_rpm,source_C,ambient_C\nA,x,900,40,22\n');
    const file = await call('fit', 'broken', '--json');
    expect(file.status).toBe(2);
    expect(file.stdout).toBe('');
    expect(file.stderr).toMatch(/^runs\.csv:2:3: [^\n]+\n$/);
  });
});

describe('report', () => {
  it('holds the numbers of the command line', async () => {
    const ended = await call('report', 'demo', '-o', 'report.html');
    expect(ended).toMatchObject({ status: 0, stdout: '' });
    const html = readFileSync(inside('report.html'), 'utf8');
    expect(html).not.toContain(folder.path);
    expect(html.length).toBeLessThan(3.5e6);
    const block = /<script type="application\/json" id="page-data">(.*?)<\/script>/s.exec(html)?.[1] ?? '';
    const data = JSON.parse(block) as PageData;
    expect(data.hashes.map((one) => one.file)).toContain('runs.csv');
    const page = new Answers(data).overLoads({ source: 'heater' });
    const loads = page.loads.map((at) => at.power_W).join();
    expect(page.loads.length).toBeGreaterThan(10);
    const printed = await json<CompareResult>('compare', 'demo', '--power', loads);
    printed.loads.forEach((at, i) => {
      expect(page.loads[i].order.map((e) => [e.cooler, e.tiers])).toEqual(
        at.order.map((e) => [e.cooler, e.tiers]),
      );
      at.order.forEach((entry, k) => {
        expect(Math.abs(page.loads[i].order[k].rise_K - entry.rise_K)).toBeLessThanOrEqual(1e-9);
        expect(Math.abs(page.loads[i].order[k].mean_high_K - entry.mean_high_K)).toBeLessThanOrEqual(1e-9);
      });
    });
    printed.pairs.forEach((pair, i) => {
      pair.difference.forEach((d, k) => {
        expect(Math.abs(page.pairs[i].difference[k].low_K - d.low_K)).toBeLessThanOrEqual(1e-9);
      });
    });
  });

  it('is the same bytes twice, on standard output too', async () => {
    await call('report', 'demo', '-o', 'one.html');
    const written = readFileSync(inside('one.html'), 'utf8');
    expect((await call('report', 'demo', '-o', '-')).stdout === written).toBe(true);
  });

  it('leaves the old file whole where it cannot write the new one', async () => {
    mkdirSync(inside('pages'));
    writeFileSync(inside('pages', 'old.html'), 'old');
    chmodSync(inside('pages', 'old.html'), 0o640);
    const fault = await call('report', 'demo', '-o', 'pages');
    expect(fault).toMatchObject({ status: 2, stdout: '' });
    expect(fault.stderr).toMatch(/^--output: [^\n]*folder[^\n]*\n$/);
    expect((await call('report', 'missing', '-o', 'pages/old.html')).status).toBe(2);
    expect((await call('report', 'demo', '--power', '-1', '-o', 'pages/old.html')).status).toBe(2);
    expect(readFileSync(inside('pages', 'old.html'), 'utf8')).toBe('old');
    expect((await call('report', 'demo', '-o', 'nowhere/new.html')).stderr).toMatch(
      /^--output: .*does not exist/,
    );
    if (existsSync('/dev/full')) {
      expect((await call('report', 'demo', '-o', '/dev/full')).stderr).toMatch(/^--output: .*disk is full/);
    }
    expect((await call('report', 'demo', '-o', 'pages/old.html')).status).toBe(0);
    expect(readFileSync(inside('pages', 'old.html'), 'utf8')).toMatch(/^<!doctype html>/);
    expect(statSync(inside('pages', 'old.html')).mode & 0o777).toBe(0o640);
    expect(readdirSync(inside('pages'))).toEqual(['old.html']);
  });

  it('needs a place to write', async () => {
    expect((await call('report', 'demo')).stderr).toMatch(/^--output: the place of the page is missing/);
  });
});
