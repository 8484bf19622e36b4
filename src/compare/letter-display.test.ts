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

  it('gives a letter to every largest tied group and to nothing else', () => {
    const count = 7;
    const pattern = fc.array(fc.boolean(), { minLength: 21, maxLength: 21 });
    fc.assert(
      fc.property(pattern, (flags) => {
        const resolved = (i: number, j: number) => {
          const [low, high] = [Math.min(i, j), Math.max(i, j)];
          return flags[(high * (high - 1)) / 2 + low];
        };
        const items = Array.from({ length: count }, (_, i) => i);
        const isTied = (group: readonly number[]) =>
          group.every((i) => group.every((j) => i === j || !resolved(i, j)));
        const largest = Array.from({ length: 2 ** count }, (_, bits) => items.filter((i) => (bits >> i) & 1))
          .filter((group) => group.length > 0 && isTied(group))
          .filter((group) => items.every((i) => group.includes(i) || !isTied([...group, i])))
          .map((group) => group.join());
        const letters = letterDisplay(count, resolved);
        const names = [...new Set(letters.flat())];
        const groups = names.map((name) => items.filter((i) => letters[i].includes(name)).join());
        expect(groups.sort()).toEqual(largest.sort());
      }),
    );
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
