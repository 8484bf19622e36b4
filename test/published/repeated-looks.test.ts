import { describe, expect, it } from 'vitest';
import { allLooksMultiple } from '../../src/compare/repeated-looks.ts';
import { makeRandom } from '../../src/lab/random.ts';

/** Readings with no difference behind them, looked at after every one: in what share a difference is ever called. */
function everCalled(multiple: (n: number) => number, looks: number, repeats: number): number {
  const random = makeRandom(7).split('looks');
  let called = 0;
  for (let repeat = 0; repeat < repeats; repeat++) {
    let sum = 0;
    for (let n = 1; n <= looks; n++) {
      sum += random.normal();
      if (Math.abs(sum) / Math.sqrt(n) < multiple(n)) continue;
      called++;
      break;
    }
  }
  return called / repeats;
}

describe('looking after every run', () => {
  it('makes a test of 5 % wrong in 14, 25 and 37 of 100 at 5, 20 and 100 looks', () => {
    // Armitage, McPherson and Rowe (1969) J. R. Stat. Soc. A 132, 235, table 2: 0.142, 0.248 and 0.374.
    for (const [looks, chance] of [
      [5, 0.142],
      [20, 0.248],
      [100, 0.374],
    ]) {
      expect(Math.abs(everCalled(() => 1.96, looks, 6000) - chance)).toBeLessThan(0.02);
    }
  });

  it('is safe with the multiple for all looks', () => {
    // Jennison and Turnbull (2000) Group Sequential Methods, table 2.3, α = 0.05: the last of 5, 10 and 20 looks at 2.040, 2.087 and 2.126 (from memory).
    for (const [looks, last] of [
      [5, 2.04],
      [10, 2.087],
      [20, 2.126],
    ]) {
      const table = everCalled((n) => last / Math.sqrt(n / looks), looks, 12_000);
      expect(Math.abs(table - 0.05)).toBeLessThan(0.006);
      expect(allLooksMultiple(1, 0.05)).toBeGreaterThan(last);
    }
    for (const alpha of [0.05, 0.2]) {
      const share = everCalled((n) => allLooksMultiple(n / 200, alpha), 200, 6000);
      // Three standard errors of the count above it would be a fault; the two lines share their passages, and looks that are not endless leave a little.
      const room = 3 * Math.sqrt((alpha * (1 - alpha)) / 6000);
      expect(share).toBeLessThan(alpha + room);
      expect(share).toBeGreaterThan(0.6 * alpha - room);
    }
  });

  it('calls a large difference early', () => {
    // Robbins (1970), eq. 17 with m = ρ: √((1 + ρ/t)·(ln(1 + t/ρ) + 2·ln(1/α))) at α = 0.01, ρ = 0.05, worked by hand for t = 0.01.
    expect(allLooksMultiple(0.01, 0.05)).toBeCloseTo(Math.sqrt(6 * (Math.log(1.2) + 2 * Math.log(100))), 10);
    expect(allLooksMultiple(0.01, 0.05)).toBeCloseTo(7.5071, 3);
  });

  it('asks for 2.326 standard errors at the end of it all', () => {
    // Four fifths of the chance are the constant line's, 2.2414 at 5 % with all of it (the limit of the same table for many looks): the normal
    // quantile at 1 − 0.04/4 (any table of the normal distribution: 2.3263).
    expect(allLooksMultiple(1, 0.05)).toBeCloseTo(2.3263, 4);
    expect(allLooksMultiple(1, 0.0625)).toBeCloseTo(2.2414, 4);
  });
});
