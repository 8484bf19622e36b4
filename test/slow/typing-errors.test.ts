import { describe, expect, it } from 'vitest';
import { screen } from '../../src/answers/screen.ts';
import { strangeLine } from '../../src/answers/text/strange-line.ts';
import { BenchError } from '../../src/bench/bench-error.ts';
import { strangeOf } from '../../src/screen/strange.ts';
import { TYPING_ERRORS } from '../benchmarks/typing-errors.ts';

/** Their source would be below ambient, which the reader refuses with file, line and column. */
const REFUSED = ['source digit dropped', 'source<->ambient'];

describe('a typing error on the demo bench', () => {
  const read = TYPING_ERRORS.filter(({ what }) => !REFUSED.includes(what));
  it.each(read)('$what is found, named as such and stands in the headline', ({ run, bench: read }) => {
    const bench = read();
    const verdict = screen(bench, { source: 'heater' }).runs.find((one) => one.run === run);
    expect(verdict).toMatchObject({ verdict: 'outlier', cause: 'typing' });
    const strange = strangeOf(bench);
    expect(strange).toHaveLength(1);
    expect(strange[0]).toMatchObject({ run, cause: 'typing' });
    expect(strangeLine(strange)).toMatch(
      new RegExp(`^Run ${run} .*probably a typing error; .*--without ${run}$`),
    );
  });

  it.each(TYPING_ERRORS.filter(({ what }) => REFUSED.includes(what)))(
    '$what is refused where it stands',
    ({ line, bench }) => {
      expect(bench).toThrow(BenchError);
      expect(bench).toThrow(new RegExp(`^runs.csv:${line + 1}:`));
    },
  );
});
