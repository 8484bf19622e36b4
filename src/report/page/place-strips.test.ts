import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { exampleCompare } from '../../../test/cli/example-results.ts';
import { joinNarrow, placesOf, placeWords } from './place-strips.ts';

describe('the places a cooler may hold', () => {
  const result = exampleCompare([100, 150, 200]);

  it('are one place for a lone leader and for one told apart as last', () => {
    expect(placeWords('Slate 240 loop', exampleCompare([200, 250]))).toBe(
      'Slate 240 loop: place 1 from 200 to 250 W',
    );
    expect(placeWords('Wren Low', result)).toBe('Wren Low: place 6 from 100 to 200 W');
  });

  it('are a range inside a tie, from the test of each pair', () => {
    const at = result.loads.findIndex((l) => l.power_W === 150);
    for (const entry of result.loads[at].order) {
      const range = placesOf(entry.cooler, result).find((s) => s.from <= at && s.to >= at)!;
      const own = result.pairs.filter((p) => p.a === entry.cooler || p.b === entry.cooler);
      const ties = own.filter((p) => p.difference[at].low_K <= 0 && p.difference[at].high_K >= 0).length;
      expect(range.worst - range.best).toBe(ties);
    }
  });

  it('are joined where they are too narrow to be written, over the same loads and within what was run', () => {
    const stretch = fc.record({
      best: fc.integer({ min: 1, max: 9 }),
      more: fc.integer({ min: 0, max: 9 }),
      long: fc.integer({ min: 1, max: 6 }),
      beyond: fc.boolean(),
    });
    fc.assert(
      fc.property(
        fc.array(stretch, { minLength: 1, maxLength: 12 }),
        fc.integer({ min: 1, max: 8 }),
        (list, least) => {
          let from = 0;
          const parts = list.map(({ best, more, long, beyond }) => {
            const part = { from, to: from + long - 1, best, worst: best + more, beyond };
            from += long;
            return part;
          });
          const fits = (one: { from: number; to: number }) => one.to - one.from + 1 >= least;
          const found = joinNarrow(parts, fits);
          expect(found[0].from).toBe(0);
          expect(found.at(-1)?.to).toBe(from - 1);
          found.forEach((one, i) => {
            if (i > 0) expect(one.from).toBe(found[i - 1].to + 1);
            const inside = parts.filter((part) => part.from >= one.from && part.to <= one.to);
            expect([one.best, one.worst]).toEqual([
              Math.min(...inside.map((part) => part.best)),
              Math.max(...inside.map((part) => part.worst)),
            ]);
            expect(inside.every((part) => part.beyond === one.beyond)).toBe(true);
            const alone = [found[i - 1], found[i + 1]].every(
              (other) =>
                other?.beyond !== one.beyond ||
                (fits(other) && (one.best < other.best || one.worst > other.worst)),
            );
            expect(fits(one) || alone).toBe(true);
          });
        },
      ),
    );
  });
});
