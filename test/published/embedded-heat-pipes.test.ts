import { expect, it } from 'vitest';
import { compare } from '../../src/answers/compare.ts';
import { readBench } from '../../src/bench/read-bench.ts';

/**
 * J.-C. Wang, Jordan Journal of Mechanical and Industrial Engineering 2(1), 2008, pp. 23–30, abstract: a heat sink with two heat pipes
 * embedded in its base plate has its least total thermal resistance, 0.27 K/W, at 140 W; with four pipes it has 0.24 K/W from 40 to 240 W. The
 * abstract gives no more than these two figures at 140 W, so no more is asked.
 */
it('four embedded pipes are 4.2 K ahead of two at 140 W', () => {
  const files = {
    'bench.yaml':
      'name: Embedded heat pipes, published\nheater: {leak_W_per_K: {value: 0, uncertainty: 0}}\n',
    'runs.csv': [
      'cooler,power_W,fan_rpm,source_C,ambient_C,mount',
      `two pipes,140,2000,${22 + 140 * 0.27},22,as published`,
      `four pipes,140,2000,${22 + 140 * 0.24},22,as published`,
    ].join('\n'),
    'coolers.csv': 'cooler,heat_pipes\ntwo pipes,2\nfour pipes,4\n',
  };
  const bench = readBench(
    new Map(Object.entries(files).map(([name, text]) => [name, new TextEncoder().encode(text)])),
  );
  const [{ a, difference }] = compare(bench, { power_W: [140] }).pairs;
  const sign = a === 'two pipes' ? 1 : -1;
  expect(Math.abs(sign * difference[0].rise_K - 4.2)).toBeLessThan(0.5);
  expect(difference[0].low_K).toBeLessThan(sign * 4.2);
  expect(difference[0].high_K).toBeGreaterThan(sign * 4.2);
});
