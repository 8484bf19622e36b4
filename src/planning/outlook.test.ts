import { describe, expect, it } from 'vitest';
import { makeRandom } from '../lab/random.ts';
import { chanceInTheEnd } from './outlook.ts';

describe('the chance to be told apart in the end', () => {
  it('is how often it happens where samples stay and mounts are averaged out', () => {
    const random = makeRandom(4);
    const samples_K = 0.7;
    const mounts_K = 0.5;
    const shared_K = 0.3;
    const multiple = 2.6;
    const draws = 40_000;
    for (const now of [0.8, 1.8, 2.4]) {
      // With nothing known beforehand the true difference lies about the estimate by what samples and mounts scatter, and it is known which
      // part of the error was the mounts' once there are many more of them.
      let told = 0;
      for (let k = 0; k < draws; k++) {
        const truth = now + random.normal(0, samples_K) + random.normal(0, mounts_K);
        const share = mounts_K ** 2 / (samples_K ** 2 + mounts_K ** 2);
        const error = now - truth;
        const ofMounts = share * error + random.normal(0, Math.sqrt(share) * samples_K);
        if (Math.abs(now - ofMounts) > multiple * Math.hypot(samples_K, shared_K)) told++;
      }
      const chance = chanceInTheEnd(
        { difference_K: now, now_K: Math.hypot(samples_K, mounts_K) },
        { samples_K, shared_K },
        multiple,
      );
      expect(Math.abs(chance - told / draws)).toBeLessThan(4 * Math.sqrt(0.25 / draws));
    }
  });

  it('is certain one way or the other where mounts have nothing left to tell', () => {
    const stays = { samples_K: 1, shared_K: 0 };
    expect(chanceInTheEnd({ difference_K: 2.9, now_K: 1 }, stays, 3)).toBe(0);
    expect(chanceInTheEnd({ difference_K: -3.1, now_K: 0.99 }, stays, 3)).toBe(1);
  });
});
