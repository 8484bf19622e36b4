import { describe, expect, it } from 'vitest';
import { readBench } from './bench/read-bench.ts';
import { studyOf } from './study.ts';

const bench = readBench(
  new Map(
    Object.entries({
      'bench.yaml': 'name: Small\n',
      'runs.csv': 'cooler,power_W,fan_rpm,source_C,ambient_C,mount\nHeron,100,1500,40,20,1\n',
    }).map(([name, text]) => [name, new TextEncoder().encode(text)]),
  ),
);

describe('the study of a bench', () => {
  it('finds each thing once, for that bench and no copy of it', () => {
    let asked = 0;
    const count = () => ++asked;
    expect([studyOf(bench).once('a', count), studyOf(bench).once('a', count)]).toEqual([1, 1]);
    expect(studyOf(bench).once('b', count)).toBe(2);
    expect(studyOf({ ...bench }).once('a', count)).toBe(3);
  });

  it('keeps what is undefined, and no fault', () => {
    let asked = 0;
    const nothing = () => void asked++;
    studyOf(bench).once('nothing', nothing);
    studyOf(bench).once('nothing', nothing);
    expect(asked).toBe(1);
    const fails = () => {
      throw new RangeError('not yet');
    };
    expect(() => studyOf(bench).once('fault', fails)).toThrow(RangeError);
    expect(studyOf(bench).once('fault', () => 4)).toBe(4);
  });
});
