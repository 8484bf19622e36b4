import { describe, expect, it } from 'vitest';
import { asText, asTextOnOneLine, namesAsText } from './terminal-text.ts';

describe('text for a terminal', () => {
  it('shows what would be obeyed, in the writing of JSON', () => {
    expect(asText('\u001b[2J\u0007A\u009b31m\u202e\r\n')).toBe(
      '\\u001b[2J\\u0007A\\u009b31m\\u202e\\u000d\n',
    );
    expect(JSON.parse(asText(JSON.stringify({ a: '\u009b\u202e\u2028é' })))).toEqual({
      a: '\u009b\u202e\u2028é',
    });
    expect(asTextOnOneLine('one\r\n two\u001b]0;x\u0007')).toBe('one two\\u001b]0;x\\u0007');
    expect(asText('冷却器 é 👾\tA\n')).toBe('冷却器 é 👾\tA\n');
  });

  it('is made of every name in an answer, keys too, and nothing else is copied', () => {
    const values = new Float64Array(2);
    const answer = { a: [{ cooler: 'A\nB', rise_K: 1 }], 'k\u001b': { values }, none: null };
    expect(namesAsText(answer)).toEqual({
      a: [{ cooler: 'A\\u000aB', rise_K: 1 }],
      'k\\u001b': { values },
      none: null,
    });
    const clean = { a: [1, 'b', { c: undefined }] };
    expect(namesAsText(clean)).toBe(clean);
  });
});
