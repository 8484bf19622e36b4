import { describe, expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import { demoBench } from '../lab/demo-bench.ts';
import { enteredTwice, slipsOf } from './typing.ts';

describe('slips of the pen', () => {
  const kindOf = (typed: string, meant: number) => slipsOf(typed).find(({ value }) => value === meant)?.slip;

  it('are taken back, each under its name', () => {
    expect(kindOf('1201', 120.1)).toBe('decimal point moved');
    expect(kindOf('467', 46.7)).toBe('decimal point moved');
    expect(kindOf('64.3', 46.3)).toBe('digits exchanged');
    expect(kindOf('4.63', 46.3)).toBe('decimal point moved');
    expect(kindOf('466.7', 46.7)).toBe('digit doubled');
    expect(kindOf('19.8', 119.8)).toBe('digit dropped');
    expect(kindOf('46.7', 46.7)).toBeUndefined();
    expect(kindOf('46.7', 58.2)).toBeUndefined();
  });
});

describe('a run entered twice', () => {
  const { files } = demoBench();
  const lines = new TextDecoder().decode(files.get('runs.csv')).trimEnd().split('\n');
  const withRow = (row: string) =>
    readBench(new Map(files).set('runs.csv', new TextEncoder().encode(`${[...lines, row].join('\n')}\n`)));

  it('is seen, and not likely by chance', () => {
    const found = enteredTwice(withRow(lines[40].replace(/^[^,]*/, 'again')), 'heater');
    expect(found.map(({ run, as }) => [run.run, as.run])).toEqual([['again', lines[40].split(',')[0]]]);
    expect(found[0].p).toBeLessThan(0.01);
  });

  it('is not what a healthy bench has', () => {
    expect(enteredTwice(readBench(files), 'heater').filter(({ p }) => p < 0.05)).toEqual([]);
  });
});
