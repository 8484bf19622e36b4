import { spawn } from 'node:child_process';
import { cpSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { CompareResult } from '../../src/answers/compare.ts';
import type { FitResult } from '../../src/answers/fit.ts';
import type { ReduceResult } from '../../src/logs/reduce.ts';
import { LOADS, RESISTANCE, writeLogsBench } from './logs-bench.ts';
import { CLI, type Ended, heatladder, temporaryFolder } from './run-cli.ts';

const folder = temporaryFolder();
const call = (...args: string[]): Promise<Ended> => heatladder(args, folder.path);
const inside = (...parts: string[]): string => join(folder.path, ...parts);
const text = (...parts: string[]): string => readFileSync(inside(...parts), 'utf8');

beforeAll(() => writeLogsBench(inside('raw')));
afterAll(folder.remove);

function copyOf(name: string, from = 'raw'): string {
  rmSync(inside(name), { recursive: true, force: true });
  cpSync(inside(from), inside(name), { recursive: true });
  return name;
}

async function json<T>(...args: string[]): Promise<T> {
  const ended = await call(...args, '--json');
  expect(ended.stderr).not.toContain('    at ');
  expect(ended.status, ended.stderr).toBe(0);
  return JSON.parse(ended.stdout) as T;
}

describe('reduce', () => {
  it('gives each load step of each log as a run, within its uncertainty of the truth', async () => {
    const { runs, hours_saved, hours_logged } = await json<ReduceResult>('reduce', copyOf('a'));
    expect(runs).toHaveLength(18);
    expect(runs.map((run) => run.run).slice(0, 3)).toEqual(['heron-1.1', 'heron-1.2', 'heron-1.3']);
    let square = 0;
    runs.forEach((run, i) => {
      const mount = i % 6 < 3 ? 0.002 : -0.002;
      const truth = (RESISTANCE[run.cooler as keyof typeof RESISTANCE] + mount) * LOADS[i % 3];
      square += (((run.rise_K as number) - truth) / (run.u_K as number)) ** 2 / runs.length;
      expect(run.usable).toBe(true);
      expect(run.time_constants_s.length).toBeGreaterThan(0);
    });
    // Mean square of 18 standard normal values: below 2.2 with a probability of 99.7 %.
    expect(square).toBeLessThan(2.2);
    expect(hours_logged).toBeCloseTo((18 * 900) / 3600, 1);
    expect(hours_saved).toBeGreaterThan(0.5);
    expect(hours_saved).toBeLessThan(hours_logged);
  });

  it('writes runs.csv once and for all: the same logs give the same bytes', async () => {
    const first = text('a', 'runs.csv');
    expect(first.split('\n')[0]).toBe(
      'run,cooler,sample,mount,source,power_W,fan_rpm,source_C,ambient_C,u_K,session,log,shelf',
    );
    expect((await call('reduce', 'a')).status).toBe(0);
    expect(text('a', 'runs.csv')).toBe(first);
  });

  it('keeps rows that no log made, and their further columns', async () => {
    copyOf('kept');
    const byHand =
      'run,cooler,power_kW,fan_rpm,source_C,ambient_C,mount,lamp\nh1,Heron,0.1,1200,38.2,22.1,9,on\nreed-1.2,Reed,0.1,1200,90,22,9,off\n';
    writeFileSync(inside('kept', 'runs.csv'), byHand);
    const { stdout } = await call('reduce', 'kept', '--replace');
    expect(stdout).toContain('runs.csv: 18 rows from the logs, 1 kept.');
    const [header, first, second] = text('kept', 'runs.csv').split('\n');
    expect(header).toBe(
      'run,cooler,sample,mount,source,power_W,fan_rpm,source_C,ambient_C,u_K,session,log,lamp,shelf',
    );
    expect(first).toBe('h1,Heron,1,9,heater,100,1200,38.2,22.1,,,,on,');
    expect(second).toMatch(/^reed-1\.2,Reed,1,1,heater,1\d\d\.\d+,.*,may,reed-1\.csv,,B1$/);
  });

  it('with --no-write only shows', async () => {
    copyOf('shown');
    const { stdout, status } = await call('reduce', 'shown', '--no-write', '--early-stop', '0.5');
    expect(status).toBe(0);
    expect(stdout).toContain('runs.csv is left as it is; it would have 18 rows from the logs.');
    expect(stdout.replace(/\s+/g, ' ')).toMatch(
      /known within 0\.5 K \(95 %\), these runs would have saved \d\.\d of 4\.5 hours/,
    );
    expect(readdirSync(inside('shown'))).not.toContain('runs.csv');
    for (const line of stdout.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
  });

  it('says in words why a run is not usable, and leaves it out', async () => {
    copyOf('short');
    const log = inside('short', 'logs', 'sedge-2.csv');
    writeFileSync(log, readFileSync(log, 'utf8').split('\n').slice(0, 80).join('\n'));
    const { stdout, stderr } = await call('reduce', 'short');
    expect(stderr).toBe('');
    expect(stdout).toMatch(/^ {2}sedge-2: not usable: /m);
    expect(stdout.replace(/\s+/g, ' ')).toMatch(/0\.3 K is needed/);
    expect(text('short', 'runs.csv')).not.toContain('sedge-2');
    const fitted = await call('fit', 'short');
    expect(fitted.status).toBe(0);
  });

  it('refuses a bad log in one line and writes nothing', async () => {
    copyOf('bad', 'a');
    const log = inside('bad', 'logs', 'reed-1.csv');
    const rows = readFileSync(log, 'utf8').split('\n');
    rows[700] = rows[700].replace(/^(\d+),/, '$1,x');
    writeFileSync(log, rows.join('\n'));
    const before = text('bad', 'runs.csv');
    const ended = await call('reduce', 'bad');
    expect(ended.stdout).toBe('');
    expect(ended.stderr).toMatch(
      /^logs\/reed-1\.csv:701:5: "x[\d.]+" is not a number; source_C needs one[^\n]*\n$/,
    );
    expect(ended.status).toBe(2);
    expect(text('bad', 'runs.csv')).toBe(before);
    // Without runs.csv every other command meets the same fault.
    rmSync(inside('bad', 'runs.csv'));
    expect((await call('compare', 'bad')).stderr).toBe(ended.stderr);
  });

  it.each([
    [['--early-stop', '0'], /^--early-stop: "0" is not a half-width; give K above 0/],
    [['--early-stop', 'x'], /^--early-stop: "x" is not a half-width/],
  ])('refuses %j', async (args, message) => {
    const ended = await call('reduce', 'a', ...args);
    expect([ended.status, ended.stdout]).toEqual([2, '']);
    expect(ended.stderr).toMatch(message);
  });

  it('says what is missing where a bench has no logs', async () => {
    expect((await call('init', 'demo')).status).toBe(0);
    rmSync(inside('demo', 'logs.csv'));
    const ended = await call('reduce', 'demo');
    expect(ended.stderr).toMatch(/^logs\.csv:1:1: the bench has no logs; [^\n]*\n$/);
    expect(ended.status).toBe(2);
  });
});

describe('runs.csv', () => {
  it('stays whole when the process is killed', async () => {
    copyOf('killed', 'a');
    const old = `${text('killed', 'runs.csv').split('\n').slice(0, 5).join('\n')}\n`;
    const whole = text('a', 'runs.csv');
    for (const delay of [150, 250, 350, 450, 600]) {
      writeFileSync(inside('killed', 'runs.csv'), old);
      await new Promise((resolve) => {
        const child = spawn(process.execPath, [CLI, 'reduce', 'killed'], {
          cwd: folder.path,
          stdio: 'ignore',
        });
        setTimeout(() => child.kill('SIGKILL'), delay);
        child.on('close', resolve);
      });
      expect([old, whole]).toContain(text('killed', 'runs.csv'));
    }
  });

  it.skipIf(process.platform === 'win32')('stays whole when it cannot be written', async () => {
    copyOf('full', 'a');
    const old = `${text('full', 'runs.csv').split('\n').slice(0, 2).join('\n')}\n`;
    writeFileSync(inside('full', 'runs.csv'), old);
    const status = await new Promise((resolve) => {
      // No file may grow beyond one block: as if the disk were full.
      const child = spawn('sh', ['-c', 'ulimit -f 1; exec "$0" "$1" reduce full', process.execPath, CLI], {
        cwd: folder.path,
        stdio: 'ignore',
      });
      child.on('close', resolve);
    });
    expect(status).not.toBe(0);
    expect(text('full', 'runs.csv')).toBe(old);
  });
});

describe('a bench of raw logs', () => {
  it('is fitted and compared alike from its logs and from the runs.csv made of them', async () => {
    const [fromLogs, fromRuns] = [await json<FitResult>('fit', 'raw'), await json<FitResult>('fit', 'a')];
    expect(fromLogs.coolers.map((one) => [one.cooler, one.runs, one.mounts])).toEqual([
      ['Heron', 6, 2],
      ['Reed', 6, 2],
      ['Sedge', 6, 2],
    ]);
    for (const cooler of fromLogs.coolers) {
      const truth = RESISTANCE[cooler.cooler as keyof typeof RESISTANCE];
      expect(Math.abs(cooler.resistance_K_per_W - truth)).toBeLessThan(0.006);
    }
    const answer = (result: FitResult) => ({ ...result, warnings: [], meta: undefined });
    expect(answer(fromLogs)).toEqual(answer(fromRuns));
    const compared = await json<CompareResult>('compare', 'raw', '--power', '200');
    expect(compared.loads[0].order.map((one) => one.cooler)).toEqual(['Heron', 'Reed', 'Sedge']);
    expect(readdirSync(inside('raw'))).not.toContain('runs.csv');
  });

  it.each([
    ['predict', '--power', '200'],
    ['screen'],
    ['sessions'],
    ['plan', '--target', '200', '--hours', '5'],
    ['report', '-o', 'raw.html'],
  ])('answers %s from its logs', async (command, ...args) => {
    const ended = await call(command, 'raw', ...args);
    expect(ended.stderr).not.toContain('    at ');
    expect(ended.status, ended.stderr).toBe(0);
    expect(readdirSync(inside('raw'))).not.toContain('runs.csv');
  });
});
