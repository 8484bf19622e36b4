import { spawn, spawnSync } from 'node:child_process';
import {
  cpSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { join, relative } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { CLI, heatladder, heatladderProcess, temporaryFolder } from '../cli/run-cli.ts';

const folder = temporaryFolder();
const inside = (...parts: string[]) => join(folder.path, ...parts);
const run = (command: string, args: readonly string[]) =>
  spawnSync(command, args, { cwd: folder.path, encoding: 'utf8', timeout: 60_000 });

const NASTY = '<img src=x onerror=alert(1)>';
const FORMULA = '=HYPERLINK(A1)';

beforeAll(async () => {
  expect((await heatladder(['init', 'demo'], folder.path)).status).toBe(0);
  // Three coolers of it: what is checked here is not in the numbers.
  for (const name of ['runs.csv', 'coolers.csv', 'noise.csv']) {
    const [head, ...rows] = readFileSync(inside('demo', name), 'utf8').split('\n');
    const few = rows.filter((row) => /\b(Siskin|Hornbeam|Rowan),/.test(row));
    writeFileSync(inside('demo', name), `${[head, ...few].join('\n')}\n`);
  }
  mkdirSync(inside('nasty'));
  writeFileSync(
    inside('nasty', 'runs.csv'),
    [
      'cooler,power_W,fan_rpm,source_C,ambient_C,mount,note',
      ...[NASTY, FORMULA].flatMap((cooler, c) =>
        [60, 120, 180].flatMap((power) =>
          ['1', '2'].map(
            (mount) =>
              `${cooler},${power},1200,${(22 + power * (0.2 + 0.004 * c) + Number(mount) * 0.2).toFixed(1)},22,${mount},"</script><script>alert(2)</script>"`,
          ),
        ),
      ),
    ].join('\n'),
  );
  writeFileSync(inside('nasty', 'bench.yaml'), `name: "<b onmouseover='alert(3)'>bench</b>"\n`);
}, 60_000);
afterAll(folder.remove);

describe('no text becomes code', () => {
  it('commands run where the engine forbids it, a lab’s own model and unit included', () => {
    cpSync(inside('demo'), inside('own'), { recursive: true });
    mkdirSync(inside('own', 'models'));
    writeFileSync(
      inside('own', 'models', 'bend.yaml'),
      'name: bend\ntitle: bend\nsource: test\ninputs: {P: W, n: "1"}\nparameters:\n  R: {unit: K/W, start: 0.1, low: 0.001, high: 2}\n  a: {unit: K/W, start: 0.1, low: 0.001, high: 2}\nresistance: R + a*n^(-0.7)\n',
    );
    for (const args of [
      ['fit', 'own', '--json'],
      ['compare', 'demo', '--power', '150', '--json'],
      ['report', 'demo', '-o', 'strict.html'],
    ]) {
      const ended = run(process.execPath, ['--disallow-code-generation-from-strings', CLI, ...args]);
      expect(ended.stderr).not.toMatch(/EvalError|a fault of the program/);
      expect(ended.status).toBe(0);
    }
  }, 60_000);

  it('nothing that is shipped holds a way to it, the chart library apart', async () => {
    const { pageScriptGzipBase64 } = await import('../../src/report/page.generated.ts');
    const { engineGzipBase64 } = await import('../../src/report/engine.generated.ts');
    const { gunzipSync } = await import('node:zlib');
    const unpacked = (text: string): string => gunzipSync(Buffer.from(text, 'base64')).toString();
    const shipped = new Map([
      ['page script', unpacked(pageScriptGzipBase64)],
      ['page engine', unpacked(engineGzipBase64)],
    ]);
    const cli = join(CLI, '..');
    const bundles = (readdirSync(cli, { recursive: true }) as string[]).filter((name) =>
      name.endsWith('.js'),
    );
    for (const name of bundles) shipped.set(name, readFileSync(join(cli, name), 'utf8'));
    expect(shipped.size).toBeGreaterThan(5);
    for (const [name, text] of shipped) {
      const found = /\bnew Function\(|(?<![\w$.])(?:eval|Function)\(/.exec(text);
      const around = found ? text.slice(Math.max(0, found.index - 60), found.index + 60) : '';
      expect(around, name).toBe('');
    }
  });
});

describe('names that would do something', () => {
  const ask = (...args: string[]) => heatladder(args, folder.path);

  it('are text in the page', async () => {
    expect((await ask('report', 'nasty', '-o', 'nasty.html')).status).toBe(0);
    const page = readFileSync(inside('nasty.html'), 'utf8');
    expect(page).toContain('&lt;img src=x onerror=alert(1)&gt;');
    expect(page).not.toMatch(/<img src=x|<b onmouseover|<script>alert/i);
  }, 60_000);

  it('are text in a spreadsheet that opens an exported table', async () => {
    const ended = await ask('plan', 'nasty', '--target', '150', '--hours', '4', '-o', '-');
    expect(ended.status).toBe(0);
    expect(ended.stdout).toContain(`'${FORMULA}`);
    expect(ended.stdout).not.toMatch(/(^|,)"?[=@]/m);
  }, 60_000);

  it('name the same cooler when the table is read again', async () => {
    await ask('plan', 'nasty', '--target', '150', '--hours', '4', '-o', 'plan.csv');
    const ended = await ask('rehearse', 'nasty', '--runs', 'plan.csv', '--repeats', '2', '--json');
    expect(ended.stderr).not.toMatch(/plan\.csv:/);
    expect(JSON.parse(ended.stdout).pairs[0]).toMatchObject({ a: NASTY, b: FORMULA });
  }, 60_000);
});

describe('the same input and seed give the same bytes', () => {
  it.each([
    ['fit'],
    ['predict', '--power', '150,300'],
    ['compare', '--power', '100:200:50', '--seed', '7'],
    ['screen'],
    ['plan', '--target', '200', '--hours', '3'],
  ])(
    '%s',
    async (command, ...args) => {
      // The second time by the built program and from another place under another name: neither may show.
      cpSync(inside('demo'), inside('elsewhere', 'bench'), { recursive: true });
      const first = await heatladder([command, 'demo', ...args, '--json'], folder.path);
      const elsewhere = join(folder.path, 'elsewhere', 'bench');
      const second = await heatladderProcess([command, elsewhere, ...args, '--json'], folder.path);
      expect(first.status).toBe(0);
      expect(second.stdout).toBe(first.stdout);
      expect(first.stdout).not.toContain(folder.path);
      const { meta } = JSON.parse(first.stdout);
      expect(meta.version).toMatch(/^\d+\.\d+\.\d+/);
      expect(meta.seed).toBe(args.includes('--seed') ? 7 : 1);
      const tables = ['bench.yaml', 'coolers.csv', 'noise.csv', 'runs.csv'];
      expect(Object.keys(meta.inputs)).toEqual(expect.arrayContaining(tables));
      for (const file of Object.keys(meta.inputs)) expect(existsSync(inside('demo', file)), file).toBe(true);
      // sha256sum of coreutils as the second opinion, where there is one.
      const sum = run('sha256sum', ['demo/runs.csv']);
      if (sum.status === 0) expect(meta.inputs['runs.csv']).toBe(sum.stdout.slice(0, 64));
    },
    60_000,
  );

  it('init and report', async () => {
    const both = async (args: (name: string) => string[]) => {
      await heatladder(args('one'), folder.path);
      await heatladderProcess(args('two'), folder.path);
    };
    await both((name) => ['init', name, '--seed', '5']);
    const files = readdirSync(inside('one'), { recursive: true, withFileTypes: true });
    expect(files.length).toBeGreaterThan(10);
    for (const entry of files) {
      if (!entry.isFile()) continue;
      const file = relative(inside('one'), join(entry.parentPath, entry.name));
      expect(readFileSync(inside('one', file)).equals(readFileSync(inside('two', file)))).toBe(true);
    }
    await both((name) => ['report', name, '-o', `${name}.html`]);
    const [one, two] = ['one.html', 'two.html'].map((name) => readFileSync(inside(name), 'utf8'));
    expect(two === one).toBe(true);
    expect(one).not.toContain(folder.path);
  }, 60_000);
});

describe('a file is whole or not there', () => {
  it('killed at any moment, the old page or the new one stands', async () => {
    const page = inside('killed.html');
    const started = Date.now();
    expect(run(process.execPath, [CLI, 'report', 'demo', '-o', 'killed.html']).status).toBe(0);
    const whole_ms = Date.now() - started;
    const fresh = readFileSync(page, 'utf8');
    const old = 'the old page, whole';
    const seen = new Set<string>();
    for (let k = 1; k <= 8; k++) {
      writeFileSync(page, old);
      const child = spawn(process.execPath, [CLI, 'report', 'demo', '-o', 'killed.html'], {
        cwd: folder.path,
        stdio: 'ignore',
      });
      const ended = new Promise((resolve) => child.on('close', resolve));
      // Close together near the end, where the writing is.
      const timer = setTimeout(
        () => child.kill('SIGKILL'),
        (k <= 2 ? 0.35 * k : 0.75 + 0.06 * (k - 2)) * whole_ms,
      );
      await ended;
      clearTimeout(timer);
      const stands = readFileSync(page, 'utf8');
      expect(stands === old || stands === fresh).toBe(true);
      seen.add(stands === old ? 'old' : 'new');
    }
    expect(seen.has('old')).toBe(true);
  }, 120_000);

  it.skipIf(process.platform === 'win32')(
    'no room for the page leaves the old one',
    () => {
      writeFileSync(inside('full.html'), 'old');
      // 100 blocks of 512 or 1,024 bytes: far less than the page.
      const ended = run('bash', [
        '-c',
        `ulimit -f 100; "$0" "$1" report demo -o full.html`,
        process.execPath,
        CLI,
      ]);
      expect(ended.status).toBe(2);
      expect(ended.stderr).toMatch(/^--output: .*larger than the system allows/m);
      expect(readFileSync(inside('full.html'), 'utf8')).toBe('old');
      expect(
        readdirSync(folder.path).filter((name) => name.includes('.part') && name.includes('full')),
      ).toEqual([]);
    },
    60_000,
  );

  it.skipIf(!existsSync('/dev/full'))(
    'a full device is a fault of the place, told in one line',
    () => {
      const ended = run(process.execPath, [CLI, 'report', 'demo', '-o', '/dev/full']);
      expect(ended.status).toBe(2);
      expect(ended.stderr).toMatch(/^--output: .*the disk is full/m);
      expect(ended.stderr).not.toContain('    at ');
    },
    60_000,
  );

  it.skipIf(!existsSync('/dev/full'))(
    'standard output that is full is told too',
    () => {
      const ended = run('bash', ['-c', `"$0" "$1" fit demo --json > /dev/full`, process.execPath, CLI]);
      expect(ended.status).toBe(2);
      expect(ended.stderr).toMatch(/^standard output: cannot be written \(the disk is full\)/m);
      expect(ended.stderr).not.toContain('    at ');
    },
    60_000,
  );
});

describe('nothing outside the bench folder is read', () => {
  it.each([
    ['a file', 'runs.csv'],
    ['a folder', 'models'],
  ])('%s that is a link to outside is refused', async (_, name) => {
    const bench = inside(`linked-${name}`);
    mkdirSync(bench);
    writeFileSync(join(bench, 'bench.yaml'), 'name: linked\n');
    if (name !== 'runs.csv') cpSync(inside('demo', 'runs.csv'), join(bench, 'runs.csv'));
    symlinkSync(inside('demo', name === 'runs.csv' ? 'runs.csv' : '.'), join(bench, name));
    const ended = await heatladder(['fit', bench, '--json'], folder.path);
    expect(ended.status).toBe(2);
    expect(ended.stderr).toMatch(/leads out of the bench folder/);
  });

  it('a log that the index names outside is refused by name', async () => {
    const bench = inside('index');
    mkdirSync(bench);
    writeFileSync(join(bench, 'bench.yaml'), 'name: index\n');
    writeFileSync(
      join(bench, 'logs.csv'),
      'run,cooler,sample,mount,source,log\n1,A,1,1,heater,../../demo/runs.csv\n',
    );
    const ended = await heatladder(['fit', bench, '--json'], folder.path);
    expect(ended.status).toBe(2);
    expect(ended.stderr).toMatch(/^logs\.csv:2:/);
  });
});
