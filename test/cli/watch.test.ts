/** The built command line as it follows a file that another process writes. */
import { type ChildProcess, spawn } from 'node:child_process';
import { appendFileSync, existsSync, readFileSync, renameSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { WatchState } from '../../src/logs/watch-log.ts';
import { type LoggerRow, loggers } from '../logs/loggers.ts';
import { makeLog, seeded } from '../logs/make-logs.ts';
import { recipeOf, writeLogsBench } from './logs-bench.ts';
import { CLI, heatladder, heatladderProcess, temporaryFolder } from './run-cli.ts';

const folder = temporaryFolder();
const inside = (name: string) => join(folder.path, name);
beforeAll(() => writeLogsBench(inside('bench')));
afterAll(folder.remove);

const SPEED = 50;
/** A response of 0.2 K/W at 165 W, a row a second: 33 K. */
const made = makeLog(recipeOf(0.2, [{ power_W: 165, seconds: 700 }]), seeded(4));
const rows: LoggerRow[] = made.csv
  .trimEnd()
  .split('\n')
  .slice(1)
  .map((line) => {
    const [time_s, source_C, ambient_C, power_W, fan_rpm] = line.split(',').map(Number);
    return { time_s, source_C, ambient_C, power_W, fan_rpm };
  });
const [truth_K] = made.rise_K;

interface Watched {
  child: ChildProcess;
  text: { stdout: string; stderr: string };
  ended: Promise<number | null>;
}

function watching(log: string, ...args: string[]): Watched {
  const child = spawn(process.execPath, [CLI, 'watch', 'bench', '--log', log, ...args], { cwd: folder.path });
  const text = { stdout: '', stderr: '' };
  for (const name of ['stdout', 'stderr'] as const)
    child[name].setEncoding('utf8').on('data', (part: string) => {
      text[name] += part;
    });
  const ended = new Promise<number | null>((done) => child.on('close', done));
  return { child, text, ended };
}

async function until(is: () => boolean, seconds = 30): Promise<void> {
  for (const end = Date.now() + 1000 * seconds; !is() && Date.now() < end; ) await pause(20);
  expect(is()).toBe(true);
}

const countOf = ({ text }: Watched) => text.stdout.match(/\n/g)?.length ?? 0;
const statesOf = ({ text }: Watched): WatchState[] =>
  text.stdout
    .trimEnd()
    .split('\n')
    .filter((line) => line !== '')
    .map((line) => JSON.parse(line) as WatchState);

/** Writes rows at a multiple of their speed, halves of lines at times. */
async function replay(log: string, lines: readonly string[]): Promise<void> {
  const begun = Date.now();
  for (let k = 0; k < lines.length; ) {
    const due = Math.min(lines.length, Math.ceil(((Date.now() - begun) / 1000) * SPEED));
    const text = lines.slice(k, due).join('');
    const half = Math.floor(text.length / 2);
    appendFileSync(log, text.slice(0, half));
    await pause(10);
    appendFileSync(log, text.slice(half));
    k = Math.max(k, due);
  }
}

describe.concurrent('a log replayed at 50 times its speed', () => {
  it.each(Object.entries(loggers))(
    'is followed as it is written: %s',
    async (name, { head, row, args = [] }) => {
      const log = inside(`${name.replaceAll(' ', '-')}.csv`);
      writeFileSync(log, head);
      const watched = watching(log, '--json', ...args);
      await until(() => watched.text.stderr.includes('no safety device'));
      const lines = rows.map(row);
      await replay(log, lines.slice(0, 600));
      await until(() => countOf(watched) === 600);
      watched.child.kill('SIGTERM');
      expect(await watched.ended).toBe(0);
      const states = statesOf(watched);
      expect(states.map(({ time_s }) => time_s - states[0].time_s)).toEqual(
        Array.from({ length: 600 }, (_, i) => i),
      );
      const stop = states.findIndex(({ can_stop }) => can_stop);
      expect(stop).toBeGreaterThan(60);
      expect(stop).toBeLessThan(600);
      expect(Math.abs((states[stop].asymptote_K as number) - truth_K)).toBeLessThan(0.3);
      expect(states[stop].minutes_left).toBe(0);
      expect(states[stop].source_at_end_C).toBeCloseTo(22 + truth_K, 0);
      expect(states[stop - 60].minutes_left).toBeGreaterThan(0);
    },
  );
});

describe('a file that is followed', () => {
  const { head, row } = loggers.plain;
  const lines = rows.map(row);

  it('may be rotated, cut and written anew, and not be there yet', async () => {
    const log = inside('rotated.csv');
    const watched = watching(log, '--json');
    await until(() => watched.text.stderr.includes('does not exist yet'));
    writeFileSync(log, head + lines.slice(0, 100).join(''));
    await until(() => countOf(watched) === 100);
    renameSync(log, inside('rotated.1.csv'));
    appendFileSync(inside('rotated.1.csv'), lines[100]);
    await pause(200);
    writeFileSync(log, head + lines.slice(101, 300).join(''));
    await until(() => countOf(watched) === 300);
    expect(statesOf(watched)[299].step_s).toBeCloseTo(299, -1);
    writeFileSync(log, head + lines.slice(0, 3).join(''));
    await until(() => countOf(watched) === 303);
    watched.child.kill('SIGINT');
    expect(await watched.ended).toBe(0);
    expect(watched.text.stderr.match(/replaced or cut/g)).toHaveLength(2);
    expect(statesOf(watched)[302].time_s).toBe(2);
  });

  it('leaves whole lines when the watch is killed', async () => {
    const log = inside('killed.csv');
    writeFileSync(log, head + lines.join(''));
    const out = inside('killed.jsonl');
    const child = spawn(
      'sh',
      ['-c', `exec "${process.execPath}" "${CLI}" watch bench --log killed.csv --json > "${out}"`],
      {
        cwd: folder.path,
      },
    );
    await until(() => existsSync(out) && statSync(out).size > 20_000);
    child.kill('SIGKILL');
    await new Promise((done) => child.on('close', done));
    const text = readFileSync(out, 'utf8').trimEnd();
    for (const line of text.split('\n')) JSON.parse(line);
  });

  it('is not written to', async () => {
    const log = inside('read-only.csv');
    writeFileSync(log, head + lines.join(''), { mode: 0o444 });
    const { status, stdout } = await heatladderProcess(
      ['watch', 'bench', '--log', 'read-only.csv', '--no-follow'],
      folder.path,
    );
    expect(status).toBe(0);
    expect(stdout).toMatch(/^This is no safety device\. .*must not depend on it/);
    expect(stdout).toMatch(/^0:00:00 {2}load on: 16[45]\.\d W at \d+ rpm$/m);
    expect(stdout).toMatch(/^0:0\d:\d\d {2}STOP\. .*known within 0\.3 K: you can stop/m);
  });

  it('is no run while the supply is off and reads a little', async () => {
    const idle = Array.from(
      { length: 200 },
      (_, t) => `${t},${22 + 0.01 * (t % 4)},22,${(0.1 * (t % 5)).toFixed(1)},1200\n`,
    );
    writeFileSync(inside('idle.csv'), head + idle.join(''));
    const { stdout } = await heatladder(
      ['watch', 'bench', '--log', 'idle.csv', '--no-follow', '--json'],
      folder.path,
    );
    for (const line of stdout.trimEnd().split('\n'))
      expect(JSON.parse(line)).toMatchObject({ can_stop: false, step_s: null });
  });

  it('may come in on standard input', async () => {
    const watched = watching('-', '--json');
    watched.child.stdin?.end(head + lines.join('').trimEnd());
    expect(await watched.ended).toBe(0);
    expect(statesOf(watched)).toHaveLength(rows.length);
  });
});

describe('two loggers of one run', () => {
  /** A minute without load, then the run; the clock of the supply's logger is 412 s behind and has a row every two seconds. */
  const idle_s = 60;
  const behind_s = 412;
  const all = [
    ...Array.from({ length: idle_s }, (_, t) => ({ ...rows[0], time_s: t, source_C: 22, power_W: 0 })),
    ...rows.map((row) => ({ ...row, time_s: row.time_s + idle_s })),
  ];
  const heads = { t: 'time_s,source_C,ambient_C\n', s: 'time_s,power_W,fan_rpm\n' };
  const temperatures = all.map(
    ({ time_s, source_C, ambient_C }) => `${time_s},${source_C.toFixed(2)},${ambient_C.toFixed(2)}\n`,
  );
  const supply = all.map(({ time_s, power_W, fan_rpm }) =>
    time_s % 2 ? '' : `${time_s - behind_s},${power_W},${fan_rpm}\n`,
  );
  const stopOf = (states: readonly WatchState[]) => states.find(({ can_stop }) => can_stop);

  it('are followed while they are written, the shift found from the load', async () => {
    writeFileSync(inside('t.csv'), heads.t);
    writeFileSync(inside('s.csv'), heads.s);
    const watched = watching('t.csv + s.csv', '--json');
    await until(() => watched.text.stderr.includes('no safety device'));
    const count = 600;
    for (let k = 0; k < count; k += 10) {
      appendFileSync(inside('s.csv'), supply.slice(k, k + 10).join(''));
      appendFileSync(inside('t.csv'), temperatures.slice(k, k + 10).join(''));
      await pause(60);
    }
    await until(() => countOf(watched) >= count - 2);
    watched.child.kill('SIGTERM');
    expect(await watched.ended).toBe(0);
    const stop = stopOf(statesOf(watched));
    expect(Math.abs((stop?.asymptote_K as number) - truth_K)).toBeLessThan(0.3);
    expect(stop?.power_W).toBeCloseTo(rows[0].power_W, 0);
    const shift = /its clock being ([\d.]+) s behind: found from the changes of load/.exec(
      watched.text.stderr,
    );
    expect(Math.abs(Number(shift?.[1]) - behind_s)).toBeLessThan(4);
  });

  it('are read when they are finished, with the shift found or given', async () => {
    writeFileSync(inside('t2.csv'), heads.t + temperatures.slice(0, 600).join(''));
    writeFileSync(inside('s2.csv'), heads.s + supply.slice(0, 600).join(''));
    const read = async (...args: string[]) => {
      const { stdout } = await heatladder(
        ['watch', 'bench', '--log', 't2.csv + s2.csv', '--no-follow', '--json', ...args],
        folder.path,
      );
      return stdout
        .trimEnd()
        .split('\n')
        .map((line) => JSON.parse(line) as WatchState);
    };
    const [found, given] = [stopOf(await read()), stopOf(await read('--shift', String(behind_s)))];
    for (const stop of [found, given])
      expect(Math.abs((stop?.asymptote_K as number) - truth_K)).toBeLessThan(0.3);
  });

  it('are refused where nothing tells how their times go together', async () => {
    writeFileSync(inside('t3.csv'), heads.t + temperatures.slice(idle_s, 300).join(''));
    writeFileSync(inside('s3.csv'), heads.s + supply.slice(idle_s, 300).join(''));
    const call = (...args: string[]) => heatladder(['watch', 'bench', '--no-follow', ...args], folder.path);
    const { status, stderr } = await call('--log', 't3.csv + s3.csv', '--json');
    expect([status, stderr.split('\n').at(-2)]).toEqual([
      2,
      expect.stringMatching(/^--log: no change of load tells .* as --shift$/),
    ]);
    expect((await call('--log', 't3.csv', '--shift', '3')).stderr).toMatch(/^--shift: there is one file/m);
  });
});

describe('watch', () => {
  const call = (...args: string[]) => heatladder(['watch', 'bench', ...args], folder.path);

  it.each([
    [[], '--log: the log is missing'],
    [['--log', 'nowhere/a.csv'], '--log: there is no folder "nowhere"'],
    [['--log', 'nothing.csv', '--no-follow'], '--log: there is no file "nothing.csv"'],
    [['--log', 'heron-1.csv', '--within', '0'], '--within: "0" is not a half-width; give K, such as 0.3'],
    [['--log', 'heron-1.csv', '--replay', 'fast'], '--replay: "fast" is not a speed'],
    [['--log', 'heron-1.csv', '--plan', 'none.csv'], '--plan: there is no file "none.csv"'],
    [['--log', 'heron-1.csv', '--source', 'Herom'], '--source: no source "Herom"'],
  ])('refuses %j with one line', async (args, start) => {
    const { status, stdout, stderr } = await call(...args);
    expect([status, stdout]).toEqual([2, '']);
    expect(stderr.startsWith(start), stderr).toBe(true);
  });

  it('names the runs of a plan, and warns of the limit', async () => {
    writeFileSync(
      inside('plan.csv'),
      'order,cooler,sample,power_W,fan_rpm,remount\n1,Heron,1,80,1200,true\n2,Heron,1,140,1200,false\n3,Reed,1,200,1200,true\n',
    );
    const { stdout } = await call('--log', 'heron-1.csv', '--no-follow', '--plan', 'plan.csv');
    expect(stdout).toContain('this is run 1 of the plan: Heron, sample 1, fresh paste, 80 W at 1200 rpm');
    expect(stdout).toContain(
      'next: run 2 of the plan: Heron, sample 1, the mount as it is, 140 W at 1200 rpm',
    );
    expect(stdout).toContain('check: 200 W at 1200 rpm is not in what is left of the plan');
    const hot = await call('--log', 'sedge-1.csv', '--no-follow', '--json');
    const last = JSON.parse(hot.stdout.trimEnd().split('\n').at(-1) as string) as WatchState;
    expect([last.limit_C, last.minutes_to_limit]).toEqual([70, 0]);
    expect(last.wrong.map(({ what }) => what)).toContain('limit');
  });
});
