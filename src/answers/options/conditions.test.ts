import { describe, expect, it } from 'vitest';
import type { Bench } from '../../bench/bench.ts';
import { BenchError } from '../../bench/bench-error.ts';
import { parseNames, readConditions } from './conditions.ts';
import { parseLoads } from './parse-loads.ts';

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
    ['abc', '--power: "abc" is not a load'],
    ['150,abc', '--power: "abc" is not a load'],
    ['150,,200', '--power: "" is not a load'],
    ['50:x:10', '--power: "x" is not a load'],
    ['50:350', '--power: "50:350" is not a range'],
    ['50:350:0', '--power: 0 W is not above 0'],
    ['350:50:10', '--power: the range ends at 50 W'],
    ['1:1000:0.01', '--power: a step of 0.01 W makes 99901 loads'],
    ['-5', '--power: -5 W is not above 0'],
    ['0x10', '--power: "0x10" is not a load'],
    ['1e999', '--power: "1e999" is not a load'],
    ['Infinity', '--power: "Infinity" is not a load'],
  ])('%s is refused, and quoted', (text, start) => {
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

  it('names hold commas and quotes in double quotes; a part of a mount keeps its own', () => {
    expect(parseNames('A,"B, ""b""" ,C')).toEqual(['A', 'B, "b"', 'C']);
    expect(parseNames('r1,"A, b"/1/2,"A, b/1/2"', 'without')).toEqual(['r1', '"A, b"/1/2', 'A, b/1/2']);
  });

  it.each([
    [{ fan: '60%', sound: '35' }, /^--sound: --fan is given too/],
    [{ 'fan-rpm': '900', fan: '60%' }, /^--fan: --fan-rpm is given too/],
    [{ fan: '0%' }, /^--fan: /],
    [{ fan: '101' }, /^--fan: /],
    [{ fan: '0.6' }, /^--fan: "0.6" would be 0.6 % of the greatest speed; give 60%, or 0.6% if/],
    [{ 'fan-rpm': 'fast' }, /^--fan-rpm: "fast" is not a number/],
    [{ sound: '500' }, /^--sound: 500 is out of range/],
    [{ level: '1' }, /^--level: /],
    [{ level: '0.5' }, /^--level: /],
    [{ seed: '-1' }, /^--seed: /],
    [{ source: 'lab ship' }, /^--source: .*did you mean "lab chip"/],
    [{ cooler: 'Heron,Hero' }, /^--cooler: .*did you mean "Heron"/],
    [{ cooler: 'Heron,Heron' }, /^--cooler: .*twice/],
    [{ cooler: '"Heron' }, /^--cooler: a double quote is not closed/],
    [{ cooler: 'Heron,' }, /^--cooler: a name is missing/],
  ])('%j is refused', (given, pattern) => {
    expect(refusal(() => readConditions(given as Record<string, string>, bench))).toMatch(pattern);
  });
});
