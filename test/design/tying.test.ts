import { describe, expect, it } from 'vitest';
import { compare } from '../../src/answers/compare.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { plan } from '../../src/design/plan.ts';
import { planCsv, readPlan } from '../../src/design/plan-table.ts';
import { rehearse } from '../../src/design/rehearse.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';

const bytes = (text: string) => new TextEncoder().encode(text);

/** Four coolers, two of them run in spring and two in autumn; what comes with it follows. */
function twoSessions(reference?: string) {
  const { files } = makeVirtualBench({
    seed: 5,
    coolers: 4,
    mounts: 2,
    loads_W: [60, 120, 180],
    noise_speeds: [],
  });
  const names = readBench(files).coolers.map((one) => one.cooler);
  const text = (name: string) => new TextDecoder().decode(files.get(name));
  const [head, ...rows] = text('runs.csv').trim().split('\n');
  const columns = head.split(',');
  const kept = rows.map((row) => {
    const cells = row.split(',');
    const cooler = cells[columns.indexOf('cooler')];
    return { cooler, row, session: names.indexOf(cooler) < 2 ? 'spring' : 'autumn' };
  });
  const both = new Map(files);
  const lines = kept.map(({ row, session }) => `${row},${session}`);
  if (reference !== undefined) {
    lines.push(
      ...kept
        .filter(({ cooler }) => cooler === names[Number(reference)])
        .slice(0, 3)
        .map(({ row }) => `${row.replace('r0', 'again-')},autumn`),
    );
    both.set('bench.yaml', bytes(`${text('bench.yaml')}\nreference_cooler: ${names[Number(reference)]}\n`));
  }
  const sorted = [
    ...lines.filter((line) => line.endsWith('spring')),
    ...lines.filter((line) => line.endsWith('autumn')),
  ];
  const unnamed = columns.includes('session') ? head : `${head},session`;
  both.set('runs.csv', bytes(`${unnamed}\n${sorted.join('\n')}\n`));
  return { bench: readBench(both), names, text: sorted, head: unnamed, files: both };
}

describe('a plan on a bench of several sessions', () => {
  it('begins with the reference cooler, at a condition that it was run at before', () => {
    const { bench, names } = twoSessions('0');
    const { runs, expected, warnings } = plan(bench, { target_W: 180, hours: 5 });
    expect(runs[0]).toMatchObject({
      order: 1,
      cooler: names[0],
      purpose: 'reference',
      remount: true,
      gain: 0,
    });
    expect([60, 120, 180]).toContain(Math.round(runs[0].power_W / 60) * 60);
    expect(runs.slice(1).every((run) => run.purpose === 'question')).toBe(true);
    expect(runs.map((run) => run.order)).toEqual(runs.map((_, k) => k + 1));
    const minutes = runs.reduce((sum, run) => sum + run.minutes, 0);
    expect(minutes).toBeLessThanOrEqual(5 * 60);
    expect(expected.hours).toBeCloseTo(minutes / 60, 9);
    expect(warnings.join()).toContain(`${names[0]} comes first, as the reference cooler`);
  });

  it('picks an earlier cooler to test again where nothing ties its session to the present one', () => {
    const { bench, names } = twoSessions();
    const { runs, warnings } = plan(bench, { target_W: 180, hours: 5 });
    expect(names.slice(0, 2)).toContain(runs[0].cooler);
    expect(runs[0].purpose).toBe('reference');
    expect(warnings.join()).toContain('to test again: no cooler ties session spring to the present session');
    // Not where only coolers of the present session are asked for.
    const late = plan(bench, { target_W: 180, hours: 5, coolers: names.slice(2) });
    expect(late.runs.every((run) => run.purpose === 'question')).toBe(true);
  });

  it('says so where no time is left for it', () => {
    const { bench } = twoSessions('0');
    const { runs, warnings } = plan(bench, { target_W: 180, hours: 0.5 });
    expect(runs.some((run) => run.purpose === 'reference')).toBe(false);
    expect(warnings.join()).toMatch(/no time is left for .*, as the reference cooler/);
  });
});

describe('a plan on a bench of two procedures that nothing joins', () => {
  const { text, head, files } = twoSessions();
  const both = new Map(files);
  const methods = text.map((line) => `${line},${line.endsWith('spring') ? 'open' : 'boxed'}`);
  both.set('runs.csv', bytes(`${head},method\n${methods.join('\n')}\n`));
  const bench = readBench(both);
  const result = plan(bench, { target_W: 180, hours: 8 });

  it('puts the run that joins them first, and counts on no order across the change', () => {
    expect(() => compare(bench, { power_W: [180] })).toThrow(/cannot be ranked/);
    const bridge = result.runs.filter((run) => run.purpose === 'bridge');
    expect(bridge.length).toBeGreaterThan(0);
    expect(['open', 'boxed']).toContain(bridge[0].method);
    expect(result.warnings.join()).toMatch(
      /cannot be ranked until the bridge has been run; plan again after that/,
    );
    const within = (a: string, b: string) => {
      const of = (name: string) => bench.runs.find((run) => run.cooler === name)?.method;
      return of(a) === of(b);
    };
    for (const pair of result.expected.pairs) {
      if (within(pair.a, pair.b)) continue;
      expect(pair.resolved_now).toBe(false);
      expect(pair.resolved_chance).toBe(0);
    }
  });

  it('comes back from its own table, and a rehearsal leaves the tying runs out', () => {
    const runs = readPlan('plan.csv', bytes(planCsv(result)));
    expect(runs.map((run) => run.purpose)).toEqual(result.runs.map((run) => run.purpose));
    const trial = rehearse(bench, { runs, repeats: 20, power_W: [180] });
    expect(trial.hours).toBeCloseTo(result.expected.hours, 9);
    expect(() => readPlan('plan.csv', bytes('cooler,power_W,purpose\nA,100,fun\n'))).toThrow(
      /plan.csv:2:7: purpose is "fun"; question, reference, bridge are accepted/,
    );
  });
});
