import { describe, expect, it } from 'vitest';
import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { parseLoads, parseNames, readConditions } from './conditions.ts';

const bench = {
  chips: [{ chip: 'lab chip' }],
  runs: [{ source: 'heater' }],
  logs: [],
  coolers: [{ cooler: 'Heron' }, { cooler: 'Reed, black' }],
} as unknown as Bench;

function refusal(run: () => unknown): string {
  try {
    run();
  } catch (error) {
    expect(error).toBeInstanceOf(BenchError);
    return (error as BenchError).message;
  }
  throw new Error('nothing was refused');
}

describe('loads', () => {
  it('are a list, a range with both ends, or both', () => {
    expect(parseLoads('150,250')).toEqual([150, 250]);
    expect(parseLoads('50:70:10,200')).toEqual([50, 60, 70, 200]);
    expect(parseLoads('50:75:10')).toEqual([50, 60, 70, 75]);
    expect(parseLoads('50:51:0.1')).toEqual([50, 50.1, 50.2, 50.3, 50.4, 50.5, 50.6, 50.7, 50.8, 50.9, 51]);
    expect(parseLoads('50:350:10')).toHaveLength(31);
    expect(parseLoads('200,100,200')).toEqual([100, 200]);
    expect(parseLoads('80:80:5')).toEqual([80]);
  });

  it.each([
    ['abc', '--power:1:1: "abc" is not a load'],
    ['150,abc', '--power:1:5: "abc" is not a load'],
    ['150,,200', '--power:1:5: "" is not a load'],
    ['50:x:10', '--power:1:4: "x" is not a load'],
    ['50:350', '--power:1:1: "50:350" is not a range'],
    ['50:350:0', '--power:1:8: 0 W is not above 0'],
    ['350:50:10', '--power:1:5: the range ends at 50 W'],
    ['1:1000:0.01', '--power:1:8: this step makes 99901 loads'],
    ['-5', '--power:1:1: -5 W is not above 0'],
    ['0x10', '--power:1:1: "0x10" is not a load'],
    ['1e999', '--power:1:1: "1e999" is not a load'],
    ['Infinity', '--power:1:1: "Infinity" is not a load'],
  ])('%s is refused at its column', (text, start) => {
    expect(refusal(() => parseLoads(text)).startsWith(start)).toBe(true);
  });
});

describe('conditions', () => {
  it('are read in the names of the library', () => {
    expect(
      readConditions(
        {
          power: '150',
          fan: '60%',
          source: 'lab chip',
          cooler: '"Reed, black",Heron',
          ambient: '-5',
          level: '0.9',
          seed: '7',
        },
        bench,
      ),
    ).toEqual({
      power_W: [150],
      fan_percent: 60,
      source: 'lab chip',
      coolers: ['Reed, black', 'Heron'],
      ambient_C: -5,
      level: 0.9,
      seed: 7,
    });
    expect(readConditions({}, bench)).toEqual({});
  });

  it('names keep their columns', () => {
    expect(parseNames('A,"B, ""b""" ,C').map((n) => [n.name, n.column])).toEqual([
      ['A', 1],
      ['B, "b"', 3],
      ['C', 15],
    ]);
  });

  it.each([
    [{ fan: '60%', sound: '35' }, /^--sound:1:1: --fan is given too/],
    [{ 'fan-rpm': '900', fan: '60%' }, /^--fan:1:1: --fan-rpm is given too/],
    [{ fan: '0%' }, /^--fan:1:1: /],
    [{ fan: '101' }, /^--fan:1:1: /],
    [{ fan: '0.6' }, /^--fan:1:1: "0.6" would be 0.6 % of the greatest speed; give 60%, or 0.6% if/],
    [{ 'fan-rpm': 'fast' }, /^--fan-rpm:1:1: "fast" is not a number/],
    [{ sound: '500' }, /^--sound:1:1: 500 is out of range/],
    [{ level: '1' }, /^--level:1:1: /],
    [{ level: '0.5' }, /^--level:1:1: /],
    [{ seed: '-1' }, /^--seed:1:1: /],
    [{ source: 'lab ship' }, /^--source:1:1: .*did you mean "lab chip"/],
    [{ cooler: 'Heron,Hero' }, /^--cooler:1:7: .*did you mean "Heron"/],
    [{ cooler: 'Heron,Heron' }, /^--cooler:1:7: .*twice/],
    [{ cooler: '"Heron' }, /^--cooler:1:1: a double quote is not closed/],
    [{ cooler: 'Heron,' }, /^--cooler:1:7: a name is missing/],
  ])('%j is refused', (given, pattern) => {
    expect(refusal(() => readConditions(given as Record<string, string>, bench))).toMatch(pattern);
  });
});
