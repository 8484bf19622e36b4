import { spawn, spawnSync } from 'node:child_process';
import {
  appendFileSync,
  cpSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { writeLogsBench } from './logs-bench.ts';
import { CLI, type Ended, heatladder, temporaryFolder } from './run-cli.ts';

const folder = temporaryFolder();
const call = (...args: string[]): Promise<Ended> => heatladder(args, folder.path);
const inside = (...parts: string[]): string => join(folder.path, ...parts);
const text = (...parts: string[]): string => readFileSync(inside(...parts), 'utf8');
const run = (command: string, ...args: string[]) =>
  spawnSync(command, args, { cwd: folder.path, encoding: 'utf8', timeout: 60_000 });

beforeAll(async () => {
  expect((await call('init', 'demo')).status).toBe(0);
  writeLogsBench(inside('logs'));
  mkdirSync(inside('small'));
  writeFileSync(inside('small', 'bench.yaml'), 'name: small\n');
  writeFileSync(
    inside('small', 'runs.csv'),
    'cooler,power_W,fan_rpm,source_C,ambient_C,mount\nA,100,1200,42,22,1\nA,200,1200,63,22,1\nA,150,1200,52.6,22,2\n',
  );
}, 60_000);
afterAll(folder.remove);

describe('standard output', () => {
  it.skipIf(process.platform === 'win32')(
    'into a file that cannot take all of it ends with 2',
    () => {
      // 64 blocks of 512 or 1,024 bytes: the page is longer.
      const ended = run(
        'bash',
        '-c',
        'ulimit -f 64; "$0" "$1" report small -o - > cut.html',
        process.execPath,
        CLI,
      );
      expect(ended.stderr).toMatch(
        /^standard output: cannot be written \(EFBIG\); send it to another place$/m,
      );
      expect(ended.status).toBe(2);
    },
    60_000,
  );

  it.skipIf(process.platform !== 'linux' || process.getuid?.() !== 0)(
    'on a disk that fills ends with 2',
    () => {
      mkdirSync(inside('disk'));
      const mounted = run('mount', '-t', 'tmpfs', '-o', 'size=64k', 'tmpfs', inside('disk'));
      if (mounted.status !== 0) return;
      try {
        const ended = run('bash', '-c', '"$0" "$1" report small -o - > disk/cut.html', process.execPath, CLI);
        expect(ended.stderr).toMatch(/^standard output: cannot be written \(the disk is full\)/m);
        expect(ended.status).toBe(2);
      } finally {
        run('umount', inside('disk'));
      }
    },
    60_000,
  );

  it('into a file holds every byte that -o writes', async () => {
    run('bash', '-c', '"$0" "$1" report small -o - > piped.html', process.execPath, CLI);
    run(process.execPath, CLI, 'report', 'small', '-o', 'written.html');
    expect(text('piped.html') === text('written.html')).toBe(true);
  }, 60_000);
});

describe('reduce', () => {
  const header = 'run,cooler,power_W,fan_rpm,source_C,ambient_C,mount\n';
  function copyWith(name: string, rows: string): string {
    cpSync(inside('logs'), inside(name), { recursive: true });
    writeFileSync(inside(name, 'runs.csv'), header + rows);
    return name;
  }

  it('keeps rows that only look like those of a log', async () => {
    // A row without an id in line 2, where a log is called run-2, and one that is called like a step and is none.
    copyWith('typed', ',Heron,100,1200,38.2,22.1,9\nreed-1.2024,Reed,100,1200,40,22,9\n');
    const index = text('typed', 'logs.csv').replace('heron-1,', 'run-2,');
    writeFileSync(inside('typed', 'logs.csv'), index);
    expect((await call('reduce', 'typed')).status).toBe(0);
    const once = text('typed', 'runs.csv');
    expect(once).toMatch(/^run-2,Heron,1,9,heater,100,1200,38\.2,22\.1,/m);
    expect(once).toMatch(/^reed-1\.2024,Reed,1,9,heater,100,1200,40,22,/m);
    expect((await call('reduce', 'typed')).status).toBe(0);
    expect(text('typed', 'runs.csv')).toBe(once);
  }, 60_000);

  it('refuses to drop a typed row, names it, and drops it with --replace', async () => {
    copyWith('clash', 'h1,Heron,100,1200,38.2,22.1,9\nreed-1.2,Reed,100,1200,40,22,9\n');
    const before = text('clash', 'runs.csv');
    const refused = await call('reduce', 'clash');
    expect(refused.stderr).toMatch(
      /^runs\.csv:3:1: row reed-1\.2 was typed in, and logs\/reed-1\.csv gives a run of the same name; [^\n]*--replace\n$/,
    );
    expect([refused.status, refused.stdout, text('clash', 'runs.csv')]).toEqual([2, '', before]);
    const done = await call('reduce', 'clash', '--replace');
    expect(done.stderr).toMatch(/^warning: dropped as asked: reed-1\.2 \(line 3\) of runs\.csv\n$/);
    expect(text('clash', 'runs.csv')).toContain('\nreed-1.2,Reed,1,1,heater,1');
    expect(text('clash', 'runs.csv')).toMatch(/^h1,Heron/m);
  }, 60_000);

  it('leaves a row alone that is typed while it runs', async () => {
    copyWith('busy', 'h1,Heron,100,1200,38.2,22.1,9\n');
    const child = spawn(process.execPath, ['--import', inside('late.mjs'), CLI, 'reduce', 'busy'], {
      cwd: folder.path,
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    let stderr = '';
    child.stderr.setEncoding('utf8').on('data', (part: string) => {
      stderr += part;
    });
    const status = await new Promise((resolve) => child.on('close', resolve));
    expect(stderr).toMatch(
      /^runs\.csv: was changed since it was read, and is left as it now is; run again$/m,
    );
    expect(status).toBe(2);
    expect(text('busy', 'runs.csv').endsWith('h2,Heron,120,1200,42,22,9\n')).toBe(true);
    expect(readdirSync(inside('busy')).filter((name) => name.includes('.part'))).toEqual([]);
  }, 60_000);
  // A row is typed as soon as the part file stands, just before it is renamed.
  beforeAll(() => {
    writeFileSync(
      inside('late.mjs'),
      `import fs from 'node:fs';
import { syncBuiltinESMExports } from 'node:module';
const { fsyncSync } = fs;
fs.fsyncSync = (descriptor) => {
  fs.appendFileSync('busy/runs.csv', 'h2,Heron,120,1200,42,22,9\\n');
  fsyncSync(descriptor);
};
syncBuiltinESMExports();
`,
    );
  });

  it('takes away what a killed one has left', async () => {
    cpSync(inside('logs'), inside('killed'), { recursive: true });
    const dead = spawnSync(process.execPath, ['-e', '']).pid;
    writeFileSync(inside('killed', `.runs.csv.${dead}-0.part`), 'half');
    writeFileSync(inside('killed', `.runs.csv.${process.pid}-0.part`), 'another that is still at work');
    expect((await call('reduce', 'killed')).status).toBe(0);
    expect(readdirSync(inside('killed')).filter((name) => name.includes('.part'))).toEqual([
      `.runs.csv.${process.pid}-0.part`,
    ]);
  }, 60_000);
});

describe('-o', () => {
  it.each(['runs.csv', 'bench.yaml', 'coolers.csv', 'logs/new.csv', 'models/own.yaml', 'decisions.yaml'])(
    'onto %s of a bench is refused',
    async (name) => {
      const before = existsSync(inside('demo', name)) ? text('demo', name) : undefined;
      mkdirSync(join(inside('demo', name), '..'), { recursive: true });
      for (const args of [
        ['plan', 'demo', '--target', '200', '--hours', '4'],
        ['report', 'small'],
      ]) {
        const ended = await call(...args, '-o', `demo/${name}`);
        expect(ended.stderr).toMatch(
          /^--output: "demo\/[^\n]* of a bench, which would be lost; give another name[^\n]*\n$/,
        );
        expect([ended.status, ended.stdout]).toEqual([2, '']);
      }
      expect(existsSync(inside('demo', name)) ? text('demo', name) : undefined).toBe(before);
    },
    60_000,
  );

  it('onto a link to a file of a bench or to nowhere is refused', async () => {
    symlinkSync(inside('demo', 'runs.csv'), inside('link.csv'));
    symlinkSync(inside('nowhere.csv'), inside('dangling.csv'));
    const [to, nowhere] = await Promise.all(
      ['link.csv', 'dangling.csv'].map((name) => call('report', 'small', '-o', name)),
    );
    expect(to.stderr).toMatch(/^--output: "link\.csv" is runs\.csv of a bench/);
    expect(nowhere.stderr).toMatch(
      /^--output: cannot write "dangling\.csv": it is a link to a place that does not exist/,
    );
    expect([to.status, nowhere.status]).toEqual([2, 2]);
  });
});

describe('answers that no cooler gives', () => {
  it('a speed far under the least stable one is refused with it named', async () => {
    const ended = await call('predict', 'small', '--power', '100', '--fan-rpm', '1');
    expect(ended.stderr).toMatch(
      /^--fan-rpm: 1 rpm is far below the least speed .*"A" .*360 rpm, 30 % .*108 rpm/,
    );
    expect([ended.status, ended.stdout]).toEqual([2, '']);
  });

  it('a level metered at no speed is refused at its cell', async () => {
    cpSync(inside('small'), inside('still'), { recursive: true });
    writeFileSync(inside('still', 'noise.csv'), 'cooler,fan_rpm,sound_dBA\nA,1e-300,30\n');
    const ended = await call('predict', 'still', '--sound', '35');
    expect(ended.stderr).toMatch(
      /^noise\.csv:2:3: a fan does not turn at 1e-300 rpm; 0 or at least 1 rpm is accepted$/m,
    );
    expect(ended.status).toBe(2);
  });

  it('a prior that leaves nothing to fit is refused at its place', async () => {
    cpSync(inside('small'), inside('tight'), { recursive: true });
    mkdirSync(inside('tight', 'models'));
    writeFileSync(
      inside('tight', 'models', 'own.yaml'),
      'name: own\ntitle: own\nsource: test\ninputs: {P: W, n: "1"}\nparameters:\n  R: {unit: K/W, start: 0.1, low: 0.01, high: 2, prior: {mean: 0.1, standard_deviation: 1e-9}}\nresistance: R\n',
    );
    const ended = await call('fit', 'tight');
    expect(ended.stderr).toMatch(
      /^models\/own\.yaml:6:\d+: standard_deviation of the prior of R is 1e-9, less than/,
    );
    expect(ended.status).toBe(2);
  });
});

describe('bad use', () => {
  it.each([
    [['fit', 'small', '--json=1'], '--json: it takes no value; give --json alone'],
    [['fit', 'small', '--constructor=1'], '--constructor: not an option of fit; give some of --power'],
    [['fit', 'small', '--__proto__=1'], '--__proto__: not an option of fit'],
    [['plan', 'small', '--target', '--hours'], '--target: a value is missing'],
    [
      ['rehearse', 'small', '--runs', '/dev/zero'],
      '--runs: "/dev/zero" is not a file; give the file that plan',
    ],
    [['simulate', 'logs', '--profile', '.'], '--profile: "." is not a file; give a table'],
    [['fit', '/dev/zero'], 'bench: "/dev/zero" is a file; a bench is a folder'],
  ])('%j is told in one line', async (args, message) => {
    const ended = await call(...args);
    expect(ended.stderr.startsWith(message), ended.stderr).toBe(true);
    expect(ended.stderr.split('\n')).toHaveLength(2);
    expect([ended.status, ended.stdout]).toEqual([2, '']);
  });

  it('an older Node is told which one is needed', () => {
    writeFileSync(
      inside('old.cjs'),
      "Object.defineProperty(process.versions, 'node', { value: '18.20.8' });",
    );
    const ended = run(process.execPath, '--require', inside('old.cjs'), CLI, 'fit', 'small');
    expect(ended.stderr).toMatch(
      /^heatladder: this is Node\.js 18\.20\.8; install Node\.js 20\.\d+ or newer\n$/,
    );
    expect([ended.status, ended.stdout]).toEqual([2, '']);
  });
});

describe('names that a terminal would obey', () => {
  const NAMES = ['\u001b[2JA', 'B\u0007\u009b31m', 'C\u202e', '"D\nE"'];
  const obeyed = /[\u2028\u2029\u202a-\u202e\u2066-\u2069]|(?![\n])\p{Cc}/u;

  beforeAll(() => {
    cpSync(inside('small'), inside('hostile'), { recursive: true });
    const rows = NAMES.flatMap((name, i) =>
      [100, 200].flatMap((power) =>
        [1, 2].map(
          (mount) =>
            `${name},${power},1200,${22 + power * (0.2 + 0.02 * i) + mount / 10},22,${mount},se\u001bc`,
        ),
      ),
    );
    appendFileSync(inside('hostile', 'bench.yaml'), 'chips: [{chip: "x\\e[31m"}]\n"odd\\u001b[5m": 1\n');
    writeFileSync(
      inside('hostile', 'runs.csv'),
      `cooler,power_W,fan_rpm,source_C,ambient_C,mount,session\n${rows.join('\n')}\n`,
    );
  });

  it.each([
    ['fit'],
    ['predict', '--power', '150'],
    ['compare', '--power', '150'],
    ['screen'],
    ['sessions', '--cooler', 'B\u0007\u009b31m'],
    ['plan', '--target', '150', '--hours', '3'],
    ['compare', '--cooler', '\u001b[2J'],
    ['compare', '--without', '\u001b[2JA/1/1'],
  ])(
    'are shown as text by %j',
    async (command, ...args) => {
      const ended = await call(command, 'hostile', ...args);
      expect(ended.stdout).not.toMatch(obeyed);
      expect(ended.stderr).not.toMatch(obeyed);
      expect(`${ended.stdout}${ended.stderr}`).not.toMatch(/TypeError|fault of the program/);
      expect([0, 2]).toContain(ended.status);
      if (ended.status === 0 && command === 'fit') expect(ended.stdout).toContain('\\u001b[2JA');
    },
    60_000,
  );
});

describe('runs set aside', () => {
  it('a name that could be two mounts is refused, and quotes tell them apart', async () => {
    cpSync(inside('small'), inside('slashed'), { recursive: true });
    const rows = ['A,1/1,2', 'A/1,1,2'].flatMap((who, i) =>
      [100, 150, 200].map((power) => `${who},${power},1200,${22 + power * (0.2 + 0.01 * i)},22`),
    );
    writeFileSync(
      inside('slashed', 'runs.csv'),
      `cooler,sample,mount,power_W,fan_rpm,source_C,ambient_C\n${rows.join('\n')}\n`,
    );
    const both = await call('fit', 'slashed', '--without', 'A/1/1/2');
    expect(both.stderr).toMatch(/^--without: "A\/1\/1\/2" can be read as A\/"1\/1"\/2 and as "A\/1"\/1\/2; /);
    expect(both.status).toBe(2);
    const one = await call('fit', 'slashed', '--without', '"A/1"/1/2');
    expect(one.stderr).toContain('left out as asked: mount "A/1"/1/2 (3 runs); 3 runs remain');
    expect(one.status).toBe(0);
  }, 60_000);
});

describe('dates and documents', () => {
  it.each([
    ['bench.yaml', 'name: a\n---\nname: b\n', /^bench\.yaml:2:1: /],
    ['decisions.yaml', 'charts: []\n---\ncharts: []\n', /^decisions\.yaml:2:1: /],
    ['decisions.yaml', 'charts: [{chart: a, published: 2026-02-31}]\n', /"2026-02-31"; a date such as/],
  ])('%s with %j is refused', async (file, content, message) => {
    const bench = `dated-${file}-${content.length}`;
    cpSync(inside('small'), inside(bench), { recursive: true });
    writeFileSync(inside(bench, file), content);
    const ended = await call('sessions', bench, '--cooler', 'A');
    expect(ended.stderr).toMatch(message);
    expect(ended.status).toBe(2);
  });

  it('a log whose lines end with carriage returns is read like any other', async () => {
    cpSync(inside('logs'), inside('returns'), { recursive: true });
    for (const name of readdirSync(inside('returns', 'logs'))) {
      writeFileSync(inside('returns', 'logs', name), text('logs', 'logs', name).replaceAll('\n', '\r'));
    }
    const [with_r, without] = await Promise.all([
      call('reduce', 'returns', '--no-write'),
      call('reduce', 'logs', '--no-write'),
    ]);
    expect(with_r.stderr).toBe('');
    expect(with_r.stdout).toBe(without.stdout);
  }, 60_000);
});
