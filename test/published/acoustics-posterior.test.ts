import { describe, expect, it } from 'vitest';
import {
  type SoundScatter,
  solveSound,
  soundAnswer,
  soundWork,
} from '../../src/acoustics/sound-given-scatter.ts';
import type { SpeedGroup } from '../../src/acoustics/sound-levels-by-speed.ts';

const soundGivenScatter = (
  groups: readonly SpeedGroup[],
  scatter: SoundScatter,
  background_dBA: number | undefined,
) => {
  const work = soundWork(groups, background_dBA);
  const logEvidence = solveSound(groups, scatter, background_dBA, work);
  return soundAnswer(groups, scatter, logEvidence, work);
};

// References from numpy and scipy 1.17 (general optimiser on the log posterior as defined, dense inverses,
// multivariate_normal), printed by scripts/fan-sound-posterior.py beside this file.
const LG = [2.7, 2.85, 3.0, 3.1, 3.2];
const METERED = [26.3, 28.0, 34.1, 37.8, 43.5];
const groupsOf = (counts: readonly number[]) =>
  LG.map((lgSpeed, i) => ({
    lgSpeed,
    sound_dBA: METERED[i],
    count: counts[i],
    scatter_dB2: 0,
    sample: 0,
  }));
const scatter = { bump_dB: 0.8, bumpReach_decades: 0.1, reading_dB: 0.3, sample_dB: 0 };

describe('own level given the scatters, against scipy', () => {
  const answer = soundGivenScatter(groupsOf([1, 2, 1, 3, 1]), scatter, 26);
  it('own levels at the speeds metered, two of them near the background', () => {
    const reference = [15.983287, 23.981969, 33.084165, 37.571339, 43.339433];
    for (const [i, own] of reference.entries()) expect(answer.own_dBA[i]).toBeCloseTo(own, 3);
  });
  it('law and its covariance', () => {
    expect(answer.law().level_dBA).toBeCloseTo(32.430941, 3);
    expect(answer.law().slope_dB).toBeCloseTo(54.08856, 3);
    expect(answer.law().levelVariance).toBeCloseTo(0.31612, 4);
    expect(answer.law().slopeVariance).toBeCloseTo(8.168568, 3);
    expect(answer.law().covariance).toBeCloseTo(-0.265044, 4);
  });
  it('own level between the speeds metered', () => {
    expect(answer.at(2.75).mean_dBA).toBeCloseTo(18.587775, 3);
    expect(answer.at(2.75).variance_dB2).toBeCloseTo(0.970686, 3);
    expect(answer.at(3.15).mean_dBA).toBeCloseTo(40.346234, 3);
    expect(answer.at(3.15).variance_dB2).toBeCloseTo(0.094017, 4);
  });
  it('how much likelier one set of scatters is than another, without a background', () => {
    const other = { ...scatter, bump_dB: 0.4, reading_dB: 0.5 };
    const single = groupsOf([1, 1, 1, 1, 1]);
    const difference =
      soundGivenScatter(single, scatter, undefined).logEvidence -
      soundGivenScatter(single, other, undefined).logEvidence;
    expect(difference).toBeCloseTo(-20.544163320779766 - -24.819610883223927, 6);
  });
});
