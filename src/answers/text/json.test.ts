import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { jsonPieces, jsonText } from './json.ts';

describe('JSON', () => {
  it('has null for what is not finite and lists for typed arrays', () => {
    expect(
      jsonText({ a: Number.NaN, b: Number.POSITIVE_INFINITY, c: new Float64Array([1, Number.NaN]) }),
    ).toBe('{"a":null,"b":null,"c":[1,null]}\n');
  });

  it('is what JSON.stringify makes of any object', () => {
    const object = fc.dictionary(fc.string(), fc.anything({ withTypedArray: false, withBigInt: false }));
    fc.assert(
      fc.property(object, (value) => {
        expect(jsonText(value)).toBe(`${JSON.stringify(value)}\n`);
      }),
    );
  });

  it('comes in pieces of a bounded length where a list is long', () => {
    const pairs = Array.from({ length: 20_000 }, (_, i) => ({ a: `cooler ${i}`, difference: [i, i / 3] }));
    const pieces = [...jsonPieces({ bench: 'long', pairs, warnings: [] })];
    expect(pieces.length).toBeGreaterThan(10);
    for (const one of pieces) expect(one.length).toBeLessThan(100_000);
    expect(JSON.parse(pieces.join(''))).toEqual({ bench: 'long', pairs, warnings: [] });
  });
});
