import { describe, expect, it } from 'vitest';
import { exampleCompare, exampleFit, examplePredict } from '../../../test/cli/example-results.ts';
import type { CompareResult } from '../compare.ts';
import { compareTables } from '../compare.ts';
import { fitTables } from '../fit.ts';
import { predictTables } from '../predict.ts';
import type { ScreenResult } from '../screen.ts';
import { screenTables } from '../screen.ts';
import { answer, answerAt, leads } from './answer.ts';
import { displayWidth } from './text-width.ts';
import { listOf, spread } from './wording.ts';

const plainRow = { extrapolated: false, within_reach: true, above_limit: false, notes: [] };

const everyLineFits = (text: string, width: number): void => {
  for (const line of text.split('\n')) expect(displayWidth(line), line).toBeLessThanOrEqual(width);
};

describe('the answer', () => {
  it('says what a tie hides, what would resolve it, and at which load it is told', () => {
    const at = {
      power_W: 120,
      order: [
        { cooler: 'Heron', rise_K: 20.1, tiers: ['a'] },
        { cooler: 'Reed', rise_K: 20.5, tiers: ['a', 'b'] },
        { cooler: 'Wren', rise_K: 21.5, tiers: ['b'] },
      ].map((e) => ({ ...e, mean_low_K: 19, mean_high_K: 22, p_best: 0.3, ...plainRow })),
      resolvable: [
        { mounts: 2, difference_K: 1.1 },
        { mounts: 3, difference_K: 0.9 },
        { mounts: 4, difference_K: 0.8 },
      ],
    };
    const result: CompareResult = {
      bench: 'b',
      level: 0.95,
      pair_level: 0.99,
      source: 'heater',
      method: '',
      loads: [at],
      pairs: [
        {
          a: 'Heron',
          b: 'Reed',
          resolved: [{ from_W: 200, to_W: 250, better: 'Reed' }],
          crossings: [],
          difference: [],
          verdict: 'Reed is cooler than Heron from 200 W to 250 W.',
        },
      ],
      warnings: [],
    };
    expect(answerAt(at, result)).toEqual([
      'At 120 W Heron and Reed tie: they are 0.4 K apart, and a difference below 1.1 K cannot be resolved with 2 mounts each; 4 mounts each would resolve 0.8 K.',
      'Reed is cooler than Heron from 200 W to 250 W.',
    ]);
  });

  it('does not say so of three coolers either', () => {
    const at = exampleCompare([390]).loads[0];
    at.order.forEach((entry, i) => {
      entry.rise_K = 30 + 20 * i;
      entry.tiers = [i < 3 ? 'a' : 'b'];
    });
    at.resolvable = [{ mounts: 2, difference_K: 3 }];
    const [first] = answerAt(at, { ...exampleCompare([390]), loads: [at] });
    expect(first).toContain(
      'lie within 40.0 K but the estimates are too uncertain to rank them; fresh runs at this load would resolve 3.0 K with 2 mounts each',
    );
  });

  it('counts one strange run as one', () => {
    const run = { run: 'r1', verdict: 'outlier' as const, p: 0.001, residual_K: 2 };
    const ok = { ...run, run: 'r2', verdict: 'ok' as const };
    const cause = { cause: null, cause_probability: null, likely_cause: null };
    const result = (runs: object[]) =>
      ({ bench: 'b', method: '', runs, mounts: [], warnings: [] }) as unknown as ScreenResult;
    const named = { cause: 'sensor', cause_probability: 0.9, likely_cause: 'sensor' };
    expect(screenTables(result([{ ...run, ...named }]))).toMatch(
      /^0 mounts and 1 run judged: 1 run is strange\./,
    );
    expect(screenTables(result([{ ...ok, ...cause }]))).toMatch(
      /^0 mounts and 1 run judged: none is strange\./,
    );
  });

  it('does not say of coolers far apart that the scatter hides their difference', () => {
    const far = exampleCompare([390]);
    const [first, second] = far.loads[0].order;
    Object.assign(first, { rise_K: 30, tiers: ['a'] });
    Object.assign(second, { rise_K: 80, tiers: ['a', 'b'] });
    far.loads[0].order.slice(2).forEach((entry) => {
      entry.tiers = ['b'];
    });
    far.loads[0].resolvable = [{ mounts: 2, difference_K: 4.5 }];
    expect(answerAt(far.loads[0], far)[0]).toMatch(
      / tie: they are 50\.0 K apart \(.*\) but the estimates are too uncertain to rank them; fresh runs at this load would resolve 4\.5 K with 2 mounts each\.$/,
    );
  });

  it('names one leader only where it shares no letter', () => {
    const result = exampleCompare([100, 150, 350, 390]);
    const found = leads(result.loads);
    expect(found[0].coolers.length).toBeGreaterThan(1);
    expect(found.at(-1)).toEqual({ from_W: 350, to_W: 390, coolers: ['Slate 240 loop'] });
    const text = answer(result).join(' ');
    expect(text).toContain('From 350 to 390 W Slate 240 loop is ahead of every other cooler.');
    expect(text).toContain('Beyond the loads run, so extrapolated: 350 to 390 W.');
  });

  it('has an answer for one cooler and for none', () => {
    const one = exampleCompare([150]);
    one.loads[0].order.length = 1;
    expect(answer(one)[0]).toContain('no other cooler');
    one.loads[0].order.length = 0;
    expect(answer(one)[0]).toContain('No cooler');
    expect(answer({ ...one, loads: [] })).toEqual(['No load was asked for.']);
  });
});

describe('the tables', () => {
  it('fit 80 columns and mark what is extrapolated', () => {
    const compare = compareTables(exampleCompare());
    everyLineFits(compare, 80);
    expect(compare).toMatch(/At 300 W[\s\S]*\d\*[\s\S]*\n\* beyond/);
    const predict = predictTables(examplePredict());
    everyLineFits(predict, 80);
    expect(predict).toMatch(/Rise above ambient at 150 W, source: heater/);
    everyLineFits(fitTables(exampleFit()), 80);
  });

  it('hold back the mark where nothing is extrapolated', () => {
    expect(predictTables(examplePredict([150]))).not.toContain('*');
  });

  it('print no place numbers and say what the letters mean', () => {
    const text = compareTables(exampleCompare([150]));
    expect(text).not.toMatch(/^\s*\d+[.)]? +[A-Z]/m);
    expect(text).toContain('Coolers that share a letter are not told apart at 95 %');
  });

  it('give a digest of many loads and say where the rest is', () => {
    const many = Array.from({ length: 31 }, (_, i) => 50 + 10 * i);
    const compare = compareTables(exampleCompare(many));
    expect(compare.match(/^At \d+ W$/gm)?.length).toBeLessThanOrEqual(5);
    expect(compare).toContain('digest of 31 loads and 15 pairs; --json gives all of them');
    const predict = predictTables(examplePredict(many));
    expect(predict).toContain('6 of 31 loads are shown; --json gives all of them.');
  });

  it('print assumed scatter as assumed and a model that did not converge as such', () => {
    const text = fitTables(exampleFit());
    expect(text).toMatch(/samples of a cooler, K\/W.*assumed/);
    expect(text).toMatch(/mounts of a sample, K\/W.*the runs/);
    expect(text.replace(/\s+/g, ' ')).toContain('did not converge: the limit is not seen by any run');
    expect(text).toContain('0.0712(41) K/W');
  });

  it('does not count fittings that the runs do not name', () => {
    const result = exampleFit();
    const [all, some] = result.coolers;
    Object.assign(all, { mounts: 12, runs_without_mount: 12 });
    Object.assign(some, { mounts: 5, runs_without_mount: 3, power_low_W: 150, power_high_W: 150 });
    const text = fitTables(result);
    expect(text).toMatch(new RegExp(`${all.cooler} +\\w+ +12 +unknown `));
    expect(text).toMatch(new RegExp(`${some.cooler} +\\w+ +12 +2 \\+ unknown +1 +150 `));
  });
});

describe('wording', () => {
  it('counts the rest of a long list', () => {
    expect(listOf(['A', 'B', 'C'])).toBe('A, B and C');
    expect(listOf(['A', 'B', 'C', 'D', 'E', 'F', 'G', 'H'])).toBe('A, B, C, D, E and 3 others');
    expect(spread([1, 2, 3, 4, 5], 3)).toEqual([1, 3, 5]);
  });
});
