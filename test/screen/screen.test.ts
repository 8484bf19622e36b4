import { describe, expect, it } from 'vitest';
import { compare } from '../../src/answers/compare.ts';
import { fit } from '../../src/answers/fit.ts';
import { predict } from '../../src/answers/predict.ts';
import { screen } from '../../src/answers/screen.ts';
import { BenchError } from '../../src/bench/bench-error.ts';
import { mountName } from '../../src/bench/mounts.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import type { Fault } from '../../src/lab/bench-options.ts';
import { demoBench } from '../../src/lab/demo-bench.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { withoutRuns } from '../../src/screen/without.ts';
import { plant } from '../benchmarks/screen-study.ts';

const commands = { compare, fit, predict };

describe('a fault planted on a whole mount', () => {
  it('is found and named, and nothing else is blamed', () => {
    // The other kinds are in test/slow.
    const { bench, cooler, sample, mount } = plant('speeds', 190, 'interface');
    const strange = screen(bench).mounts.filter((one) => one.verdict !== 'ok');
    expect(strange).toHaveLength(1);
    expect(strange[0]).toMatchObject({ cooler, sample, mount, verdict: 'outlier', cause: 'interface' });
    expect(strange[0].next_run!.between).toContain('interface');
  });
});

describe('several bad mounts', () => {
  const bad = [1, 2, 3, 4, 5, 6, 7].map(
    (k): Fault => ({
      cooler: `cooler-${k}`,
      sample: '1',
      mount: String(1 + (k % 2)),
      interface_K_per_W: 0.02 + 0.006 * k,
    }),
  );
  const bench = readBench(
    makeVirtualBench({
      seed: 7,
      coolers: 8,
      samples: 1,
      mounts: 2,
      loads_W: [60, 110, 160],
      noise_speeds: [],
      faults: bad,
    }).files,
  );
  const strange = screen(bench).mounts.filter((one) => one.verdict !== 'ok');

  it('do not hide behind the scatter that they make, seven of sixteen', () => {
    const name = (one: { cooler?: string; mount?: string }) => `${one.cooler}/${one.mount}`;
    expect(strange.map(name)).toEqual(bad.map(name));
  });

  it('of two mounts the pair is said to be the finding', () => {
    expect(strange[0].remark).toMatch(
      /^the finding is that the only two mounts of cooler-1, 1\/2 and 1\/1, are .* K apart at 160 W; 1\/2, the warmer, is only the likelier one to be at fault: if it is 1\/1, the likeliest cause is \S+ \(chance .* %\)$/,
    );
    const [first] = commands.predict(bench, { power_W: [120] }).strange;
    expect(first).toMatchObject({ mate: expect.stringMatching(/^cooler-\d\/1\/[12]$/), cause: 'interface' });
    expect(first.off_K).toBeGreaterThan(2 * first.u_K);
  });
});

describe('runs without any scatter', () => {
  it('are judged by the last digit of the sensors', () => {
    const rows = ['A', 'B', 'C'].flatMap((cooler, c) =>
      [1, 2].flatMap((mount) =>
        [60, 120, 180].map((load) => `${cooler},${mount},${load},1500,${22 + (0.2 + 0.02 * c) * load},22`),
      ),
    );
    const text = ['cooler,mount,power_W,fan_rpm,source_C,ambient_C', ...rows].join('\n');
    const bench = readBench(
      new Map([
        ['bench.yaml', new TextEncoder().encode('name: arithmetic')],
        ['runs.csv', new TextEncoder().encode(text)],
      ]),
    );
    const { mounts, runs } = screen(bench);
    expect(mounts).toHaveLength(6);
    expect([...mounts, ...runs].filter((one) => one.verdict !== 'ok')).toEqual([]);
  });
});

describe('a healthy bench', () => {
  const bench = readBench(demoBench().files);
  const result = screen(bench);

  it('has nothing strange', () => {
    expect(result.mounts.filter((one) => one.verdict !== 'ok')).toEqual([]);
    expect(result.runs.filter((one) => one.verdict !== 'ok')).toEqual([]);
    for (const { cause, cause_probability } of [...result.mounts, ...result.runs]) {
      expect(cause).toBeNull();
      expect(cause_probability).toBeNull();
    }
  });

  it('judges every run, those at no load too, and every mount', () => {
    expect(result.runs.map((one) => one.run).sort()).toEqual(bench.runs.map((run) => run.run).sort());
    const names = new Set(bench.runs.filter((run) => run.power_W > 0).map(mountName));
    expect(new Set(result.mounts.map((one) => `${one.cooler}/${one.sample}/${one.mount}`))).toEqual(names);
  });

  it('gives residuals that scatter as the readings do', () => {
    const loaded = result.runs.filter((one) => bench.runs.find((run) => run.run === one.run)!.power_W > 0);
    const rms = Math.sqrt(loaded.reduce((sum, one) => sum + one.residual_K ** 2, 0) / loaded.length);
    // The lab draws 0.08 K and rounds to 0.1 K; a deleted residual is a little wider.
    expect(rms).toBeGreaterThan(0.06);
    expect(rms).toBeLessThan(0.3);
  });

  it('answers for the coolers asked for', () => {
    const [cooler] = bench.coolers.map((one) => one.cooler);
    const some = screen(bench, { coolers: [cooler] });
    expect(new Set(some.mounts.map((one) => one.cooler))).toEqual(new Set([cooler]));
    expect(() => screen(bench, { source: 'nowhere' })).toThrow(BenchError);
  });
});

describe('a bench over several sessions', () => {
  // Sensors and paste are drawn anew in every session, so that every mount reads a little else than its cooler's others.
  const months = (seed: number, faults: readonly Fault[] = []) =>
    screen(
      readBench(
        makeVirtualBench({
          seed,
          coolers: 5,
          samples: 1,
          mounts: 4,
          loads_W: [60, 100, 140, 180],
          noise_speeds: [],
          sessions: ['a', 'b', 'c', 'd'],
          reference_cooler: 'cooler-1',
          scatter: { session_K_per_W: 0.003 },
          faults,
        }).files,
      ),
    ).mounts.filter((one) => one.verdict !== 'ok');

  it('is not blamed on mounts for what a session did to all of them', () => {
    const strange = [1, 2, 3].flatMap((seed) => months(seed));
    expect(strange).toEqual([]);
  });

  it('still shows a bad mount', () => {
    // At one fan speed nothing tells its cause: paste and air leave the same pattern.
    const strange = months(1, [{ cooler: 'cooler-3', sample: '1', mount: '2', interface_K_per_W: 0.06 }]);
    expect(strange).toHaveLength(1);
    expect(strange[0]).toMatchObject({ cooler: 'cooler-3', mount: '2', verdict: 'outlier' });
  });
});

describe('a lone strange run', () => {
  it('is the run, not the mount', () => {
    const { files } = makeVirtualBench({
      seed: 6,
      coolers: 5,
      samples: 2,
      mounts: 2,
      loads_W: [60, 100, 140, 180],
      noise_speeds: [],
      faults: [{ cooler: 'cooler-3', sample: '1', mount: '2', power_W: 100, sensor_K: 4 }],
    });
    const bench = readBench(files);
    const { runs, mounts } = screen(bench);
    const strange = runs.filter((one) => one.verdict !== 'ok');
    expect(strange).toHaveLength(1);
    expect(strange[0].residual_K).toBeGreaterThan(3);
    expect(strange[0].residual_K).toBeLessThan(5);
    const run = bench.runs.find((one) => one.run === strange[0].run)!;
    expect(run).toMatchObject({ cooler: 'cooler-3', sample: '1', mount: '2' });
    expect(Math.abs(run.power_W - 100)).toBeLessThan(1);
    expect(mounts.filter((one) => one.verdict !== 'ok')).toEqual([]);
  });
});

describe('a typing error', () => {
  const { files } = demoBench();
  const lines = new TextDecoder().decode(files.get('runs.csv')).trimEnd().split('\n');
  const columns = lines[0].split(',');
  const typed = (line: number, column: string, change: (cell: string) => string) => {
    const cells = lines[line].split(',');
    cells[columns.indexOf(column)] = change(cells[columns.indexOf(column)]);
    const rows = lines.map((row, i) => (i === line ? cells.join(',') : row));
    return readBench(new Map(files).set('runs.csv', new TextEncoder().encode(rows.join('\n'))));
  };

  it.each([
    [20, 'source_C', (cell: string) => cell.replace('.', ''), 'decimal point moved'],
    [31, 'source_C', (cell: string) => `${cell[1]}${cell[0]}${cell.slice(2)}`, 'digits exchanged'],
    [36, 'power_W', (cell: string) => cell.slice(1), 'digit dropped'],
  ] as const)('in line %i, %s, is found and named, and the answer says so', (line, column, change, kind) => {
    const bench = typed(line, column, change);
    const { run } = bench.runs[line - 1];
    const { strange } = commands.predict(bench, { power_W: [120] });
    expect(strange).toHaveLength(1);
    expect(strange[0]).toMatchObject({ run, cause: 'typing' });
    const verdict = screen(bench).runs.find((one) => one.run === run);
    expect(verdict).toMatchObject({ verdict: 'outlier', cause: 'typing', typing: { kind, column } });
  });

  it('is nothing that a healthy bench is blamed for', () => {
    expect(commands.compare(readBench(files), { power_W: [120] }).strange).toEqual([]);
  });
});

describe('setting runs aside', () => {
  const bench = readBench(demoBench().files);

  it('makes a copy that says so and leaves the bench as it was', () => {
    const before = bench.runs.length;
    const copy = withoutRuns(bench, [bench.runs[4].run, mountName(bench.runs[10])]);
    expect(bench.runs).toHaveLength(before);
    expect(copy.runs.length).toBeLessThan(before - 1);
    expect(copy.warnings.at(-1)).toMatch(/left out as asked: run .*, mount .* runs remain/);
    expect(withoutRuns(bench, [bench.runs[4].run, mountName(bench.runs[10])])).toBe(copy);
    expect(withoutRuns(bench, undefined)).toBe(bench);
  });

  it('changes what fit answers and warns of it', () => {
    const name = mountName(bench.runs.find((run) => run.power_W > 0)!);
    const all = commands.fit(bench);
    const less = commands.fit(bench, { without: [name] });
    expect(less.warnings.join()).toContain(`mount ${name}`);
    const runs = (one: typeof all) => one.coolers.reduce((sum, cooler) => sum + cooler.runs, 0);
    expect(runs(less)).toBeLessThan(runs(all));
  });

  it('refuses a name that is none, with the nearest', () => {
    expect(() => withoutRuns(bench, ['r0O3'])).toThrow(
      /--without: no run and no mount "r0O3"; did you mean "r003"/,
    );
    expect(() =>
      withoutRuns(
        bench,
        bench.runs.map((run) => run.run),
      ),
    ).toThrow(/nothing would be left/);
  });
});
