import { describe, expect, it } from 'vitest';
import { exampleCompare } from '../../../test/cli/example-results.ts';
import { placesOf, placeWords } from './place-strips.ts';

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
});
