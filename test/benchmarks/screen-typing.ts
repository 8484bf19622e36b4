/**
 * Typing errors planted one at a time on the demo bench, and what the screening makes of them.
 *
 * Run: node test/benchmarks/run.mjs screen-typing [part of a name]
 */

import { screen } from '../../src/answers/screen.ts';
import { strangeLine } from '../../src/answers/text/strange-line.ts';
import { strangeOf } from '../../src/screen/strange.ts';
import { TYPING_ERRORS } from './typing-errors.ts';

const only = process.argv[2];
for (const { what, before, bench: read } of TYPING_ERRORS) {
  if (only && !what.includes(only)) continue;
  try {
    const bench = read();
    const { runs, mounts } = screen(bench, { source: 'heater' });
    const bad = runs
      .filter(({ verdict }) => verdict !== 'ok')
      .map(
        ({ run, verdict, p, cause, typing }) =>
          `${run} ${verdict} p ${p.toExponential(1)} ${cause} ${JSON.stringify(typing ?? '')}`,
      );
    const fitted = mounts
      .filter(({ verdict }) => verdict !== 'ok')
      .map((one) => `${one.cooler}/${one.sample}/${one.mount}`);
    console.log(
      `${what}: ${before}\n  ${[...bad, ...fitted, ...bench.warnings].join(' | ')}\n  ${strangeLine(strangeOf(bench))}`,
    );
  } catch (error) {
    console.log(`${what}: ${before}\n  refused: ${(error as Error).message}`);
  }
}
