import { describe, expect, it } from 'vitest';
import { dot, product } from '../../src/numerics/matrix.ts';
import {
  type SoundScatter,
  solveSound,
  soundAnswer,
  soundWork,
} from '../../src/sound/level-against-speed.ts';
import { MeterSessions } from '../../src/sound/meter-sessions.ts';
import type { SpeedGroup } from '../../src/sound/sound-levels-by-speed.ts';

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
    session: 0,
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

// Printed by scripts/meter-sessions.py beside this file (numpy and scipy 1.17): the joint normal of all readings and of the meter's
// errors, written out densely and conditioned.
describe('the meter’s errors in three sessions, against a dense joint normal', () => {
  const scatter = { bump_dB: 0.6, bumpReach_decades: 0.1, reading_dB: 0.3, sample_dB: 0 };
  const group = (lgSpeed: number, sound_dBA: number, count: number, session: number): SpeedGroup => {
    return { lgSpeed, sound_dBA, count, scatter_dB2: 0, sample: 0, session };
  };
  const coolers = [
    [group(2.8, 24, 1, 0), group(3, 33.1, 2, 0), group(3.2, 42.9, 1, 0)],
    [group(2.9, 27, 1, 0), group(3.1, 36.6, 1, 0), group(2.9, 28.6, 1, 1), group(3.1, 38.4, 2, 1)],
    [group(3, 31, 1, 1), group(3.2, 41.2, 1, 1), group(3.1, 35.1, 1, 2)],
  ];
  const sessions = new MeterSessions(['a', 'b', 'c'], 1);
  const solved = (groups: readonly SpeedGroup[]) => {
    const work = soundWork(groups, undefined);
    solveSound(groups, scatter, undefined, work);
    return work;
  };
  /** What has been taken off the readings before is no matter of the answer. */
  const toldAbout = (off: Float64Array) => {
    const less = coolers.map((groups) => groups.map((one) => ({ ...one, offset_dB: off[one.session] })));
    const meter = sessions.given(less, less.map(solved), off);
    return { meter, errors: sessions.over([{ weight: 1, meter }], off) };
  };
  it.each([[[0, 0, 0]], [[-0.8, 1, -0.2]]])('with %j taken off before', (off) => {
    const { meter, errors } = toldAbout(Float64Array.from(off));
    const weights = [0.008822583096, 0.241798463402, 0.530485300762, 0.1989770159, 0.01991663684];
    for (const [k, { weight }] of meter.scatters.entries()) expect(weight).toBeCloseTo(weights[k], 8);
    for (const [k, offset] of [-0.7694844958, 0.8653811928, -0.095896697].entries())
      expect(errors.offset_dB[k]).toBeCloseTo(offset, 8);
    const row = (k: number) => errors.root.subarray(2 * k, 2 * k + 2);
    for (const [k, u] of [0.2416246135, 0.1977587531, 0.34561386].entries())
      expect(Math.hypot(...row(k))).toBeCloseTo(u, 8);
    expect(dot(row(0), row(1))).toBeCloseTo(0.010978981, 8);
    const own = [0, 1].map((c) => {
      const groups = coolers[c].map((one) => {
        return { ...one, offset_dB: errors.offset_dB[one.session] };
      });
      const answer = soundAnswer(groups, scatter, 0, solved(groups));
      const slopes = product(answer.bySession(3.05, 3), errors.root, 1, 3, 2);
      return { ...answer.at(3.05), slopes };
    });
    expect(own[0].mean_dBA).toBeCloseTo(36.3176650976, 7);
    expect(own[1].mean_dBA).toBeCloseTo(35.0427168906, 7);
    const u = ({ variance_dB2, slopes }: (typeof own)[0]) => Math.sqrt(variance_dB2 + dot(slopes, slopes));
    expect(u(own[0])).toBeCloseTo(0.4404764687, 7);
    expect(u(own[1])).toBeCloseTo(0.3912304516, 7);
    const apart = own[0].slopes.map((one, k) => one - own[1].slopes[k]);
    expect(Math.sqrt(own[0].variance_dB2 + own[1].variance_dB2 + dot(apart, apart))).toBeCloseTo(
      0.5383844443,
      7,
    );
  });
});
