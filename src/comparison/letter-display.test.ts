import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { letterDisplay } from './letter-display.ts';

describe('compact letter display', () => {
  it('gives one letter to a tie of all', () => {
    expect(letterDisplay(3, () => false)).toEqual([['a'], ['a'], ['a']]);
  });

  it('gives each its own where all are resolved', () => {
    expect(letterDisplay(3, () => true)).toEqual([['a'], ['b'], ['c']]);
  });

  it('lets the middle one share with both neighbours', () => {
    expect(letterDisplay(3, (i, j) => Math.abs(i - j) > 1)).toEqual([['a'], ['a', 'b'], ['b']]);
  });

  it('shares a letter exactly where a pair is not resolved, whatever the pattern', () => {
    const pattern = fc.array(fc.boolean(), { minLength: 28, maxLength: 28 });
    fc.assert(
      fc.property(pattern, (flags) => {
        const at = (i: number, j: number) => flags[(i * (15 - i)) / 2 + (j - i - 1)];
        const letters = letterDisplay(8, (i, j) => at(Math.min(i, j), Math.max(i, j)));
        for (let i = 0; i < 8; i++) {
          for (let j = i + 1; j < 8; j++) {
            const share = letters[i].some((name) => letters[j].includes(name));
            expect(share).toBe(!at(i, j));
          }
        }
      }),
    );
  });
});
