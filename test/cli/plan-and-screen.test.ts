import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { FitResult } from '../../src/answers/fit.ts';
import type { ScreenResult } from '../../src/answers/screen.ts';
import type { PlanResult, RehearseResult } from '../../src/design/planned.ts';
import { type Ended, heatladder, temporaryFolder } from './run-cli.ts';

const folder = temporaryFolder();
const call = (...args: string[]): Promise<Ended> => heatladder(args, folder.path);
const inside = (...parts: string[]): string => join(folder.path, ...parts);

beforeAll(async () => {
  expect((await call('init', 'demo')).status).toBe(0);
  expect((await call('plan', 'demo', '--target', '200', '--hours', '5', '-o', 'plan.csv')).status).toBe(0);
});
afterAll(folder.remove);

async function json<T>(...args: string[]): Promise<T> {
  const ended = await call(...args, '--json');
  // Warnings go to standard error, one a line, and nothing else does.
  for (const line of ended.stderr.split('\n').filter(Boolean)) expect(line).toMatch(/^(warning: | {2})/);
  expect(ended.status).toBe(0);
  expect(ended.stdout).not.toMatch(/NaN|Infinity/);
  return JSON.parse(ended.stdout) as T;
}

describe('plan', () => {
  it('gives the runs as JSON and the same as a table', async () => {
    const result = await json<PlanResult>('plan', 'demo', '--target', '200', '--hours', '5');
    const [header, ...rows] = readFileSync(inside('plan.csv'), 'utf8').trim().split('\n');
    expect(header).toBe(
      'order,cooler,sample,power_W,fan_rpm,remount,minutes,gain,purpose,method,climb_W,source,caution',
    );
    // What was warned of stands in the table too.
    expect(rows[0]).toMatch(/thermal cut-out .*licensed electrician/);
    for (const warning of result.warnings) expect(rows.join('\n').replaceAll('""', '"')).toContain(warning);
    expect(rows).toHaveLength(result.runs.length);
    result.runs.forEach((run, k) => {
      expect(rows[k].startsWith(`${k + 1},${run.cooler},${run.sample},${run.power_W},`)).toBe(true);
    });
  });

  it('prints a run sheet with the safety lines in 80 columns', async () => {
    const { stdout } = await call('plan', 'demo', '--target', '200', '--hours', '5');
    for (const line of stdout.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
    const text = stdout.replace(/\s+/g, ' ');
    for (const part of [
      /thermal cut-out/,
      /guarded/,
      /residual-current/,
      /never heats unattended/,
      /fans are seen to run/,
      /licensed electrician/,
    ]) {
      expect(text).toMatch(part);
    }
    expect(text).toMatch(/the runs so far tell \d+ of \d+ pairs apart/);
  });

  it.each([
    [['--hours', '5'], '--target: ', /load to decide is missing/],
    [['--target', '200'], '--hours: ', /time on the bench is missing/],
    [['--target', '200,x', '--hours', '5'], '--target: ', /"x" is not a load/],
    [['--target', '200', '--hours', 'all'], '--hours: ', /give hours above 0/],
    [['--target', '200', '--hours', '5', '--goal', 'fame'], '--goal: ', /order, winner, pair:A,B/],
    [['--target', '200', '--hours', '5', '--margin', 'wide'], '--margin: ', /give K above 0/],
  ])('refuses %j in one line', async (args, start, part) => {
    const ended = await call('plan', 'demo', ...args);
    expect(ended.status).toBe(2);
    expect(ended.stdout).toBe('');
    expect(ended.stderr.startsWith(start), ended.stderr).toBe(true);
    expect(ended.stderr).toMatch(part);
  });
});

describe('rehearse', () => {
  it('carries the plan out', async () => {
    const result = await json<RehearseResult>('rehearse', 'demo', '--runs', 'plan.csv', '--repeats', '40');
    expect(result.pairs).toHaveLength(21);
    for (const pair of result.pairs) {
      expect(pair.resolved_fraction).toBeGreaterThanOrEqual(0);
      expect(pair.resolved_fraction).toBeLessThanOrEqual(1);
      expect(pair.power_W).toBe(200);
    }
    expect(result.hours).toBeLessThanOrEqual(5);
    const { stdout } = await call('rehearse', 'demo', '--runs', 'plan.csv', '--repeats', '1');
    expect(stdout).toMatch(/^1 rehearsal of /);
    for (const line of stdout.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
  });

  it('refuses a fault of the plan at its place', async () => {
    writeFileSync(inside('bad.csv'), 'cooler,power_W,remount\nSiskin,120,true\nSiskin,120,perhaps\n');
    const bad = await call('rehearse', 'demo', '--runs', 'bad.csv');
    expect(bad.status).toBe(2);
    expect(bad.stderr).toMatch(/^bad\.csv:3:12: remount is "perhaps"; true or false is accepted\n$/);
    const none = await call('rehearse', 'demo', '--runs', 'none.csv');
    expect(none.status).toBe(2);
    expect(none.stderr).toMatch(/^--runs: there is no file "none\.csv"/);
    expect(existsSync(inside('none.csv'))).toBe(false);
  });
});

describe('screen', () => {
  it('finds nothing strange in the demo, and a sensor that was moved on one mount', async () => {
    const well = await json<ScreenResult>('screen', 'demo');
    expect(well.mounts.every((one) => one.verdict === 'ok' && one.cause === null)).toBe(true);
    const text = readFileSync(inside('demo', 'runs.csv'), 'utf8').split('\n');
    const names = text[0].split(',');
    const at = (name: string) => names.indexOf(name);
    const moved = text.map((line) => {
      const cells = line.split(',');
      if (cells[at('cooler')] !== 'Siskin' || cells[at('sample')] !== '2' || cells[at('mount')] !== '1')
        return line;
      cells[at('source_C')] = (Number(cells[at('source_C')]) + 4).toFixed(1);
      return cells.join(',');
    });
    expect((await call('init', 'moved')).status).toBe(0);
    writeFileSync(inside('moved', 'runs.csv'), moved.join('\n'));
    const ended = await call('screen', 'moved', '--json');
    const result = JSON.parse(ended.stdout) as ScreenResult;
    const strange = result.mounts.filter((one) => one.verdict !== 'ok');
    expect(strange).toHaveLength(1);
    expect(strange[0]).toMatchObject({
      cooler: 'Siskin',
      sample: '2',
      mount: '1',
      verdict: 'outlier',
      cause: 'sensor',
    });
    expect(ended.stderr).toMatch(/--without 'Siskin\/2\/1'/);
    const table = (await call('screen', 'moved')).stdout;
    expect(table).toMatch(/Siskin\/2\/1 +heater +outlier +under 0\.0001 +sensor/);
    for (const line of table.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
    const left = await call('screen', 'moved', '--without', 'Siskin/2/1', '--json');
    expect((JSON.parse(left.stdout) as ScreenResult).mounts.every((one) => one.verdict === 'ok')).toBe(true);
    // A run that would tell is a run with heat in it.
    const said = (await call('screen', 'moved')).stdout.replace(/\s+/g, ' ');
    expect(/to tell .* from .* min:/.test(said)).toBe(strange[0].next_run !== null);
    expect(/Before any heat: .*licensed electrician/.test(said)).toBe(strange[0].next_run !== null);
  });
});

describe('--without', () => {
  it('is said, and counts', async () => {
    const all = await json<FitResult>('fit', 'demo');
    const ended = await call('fit', 'demo', '--without', 'Siskin/1/1', '--json');
    expect(ended.stderr).toMatch(
      /^warning: left out as asked: mount Siskin\/1\/1 \(\d+ runs\); \d+ runs remain\n$/,
    );
    const less = JSON.parse(ended.stdout) as FitResult;
    const mounts = (one: FitResult) => one.coolers.find((cooler) => cooler.cooler === 'Siskin')!.mounts;
    expect(mounts(less)).toBe(mounts(all) - 1);
  });
});

describe('every text that proposes heat', () => {
  it.each([
    ['plan', '--target', '200', '--hours', '5'],
    ['rehearse', '--runs', 'plan.csv', '--repeats', '5'],
    ['compare', '--power', '200'],
    ['compare', '--power', '200', '--budget'],
    ['predict', '--power', '200', '--budget'],
  ])('%s says what comes before it', async (command, ...options) => {
    const { stdout, status } = await call(command, 'demo', ...options);
    expect(status).toBe(0);
    expect(stdout.replace(/\s+/g, ' ')).toMatch(/thermal cut-out/i);
  });
});
