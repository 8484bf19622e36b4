import { describe, expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import { posteriorOf } from '../fit/posterior-of.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { compareFrom } from './compare.ts';

const verdicts = (noise_speeds: number[]): string[] => {
  const { files } = makeVirtualBench({
    seed: 6,
    coolers: 5,
    samples: 3,
    loads_W: [80, 160],
    speeds: [0.4, 0.6, 1],
    noise_speeds,
    sound_reading_dB: 0.1,
    scatter: { mount_K_per_W: 0.001, sample_K_per_W: 0.0005, reading_K: 0.05 },
  });
  const { pairs } = compareFrom(posteriorOf(readBench(files)), { power_W: [80, 160], sound_dBA: 34 });
  return pairs.map((pair) => pair.verdict);
};

describe('advice at equal sound', () => {
  it('asks for sound readings where the speeds are what is not known, naming cooler and speed', () => {
    const lone = verdicts([1]).filter((v) => v.includes('is what is least known'));
    expect(lone.length).toBeGreaterThan(0);
    expect(lone[0]).toMatch(
      /first take more sound readings of cooler-\d near \d+ rpm \(known to ±\d+ rpm, worth ±\d+\.\d K\)/,
    );
  });
  it('and not where they are well known', () => {
    const many = verdicts([0.4, 0.45, 0.5, 0.55, 0.6, 0.65, 0.7, 0.8, 0.9, 1]);
    expect(many.filter((v) => v.includes('is what is least known'))).toEqual([]);
  });
});
