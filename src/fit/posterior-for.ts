import type { Bench } from '../bench/bench.ts';
import { knownSource } from '../bench/source.ts';
import { studyOf } from '../study.ts';
import type { BenchPosterior } from './bench-posterior.ts';
import { chipPosterior } from './chip-posterior.ts';
import { sourceTerm } from './chip-term.ts';
import { posteriorOf } from './posterior-of.ts';

/**
 * The posterior from which a bench answers for a source, computed once for a bench that is asked again.
 *
 * For the heater it is the fit of the heater's runs. For a chip the heater's fit is kept and the source swapped; a bench
 * without heater runs answers from its chip runs alone.
 *
 * @throws BenchError where the bench knows no such source
 */
export function posteriorFor(bench: Bench, source = 'heater'): BenchPosterior {
  const heater = posteriorOf(bench);
  if (source === 'heater') return heater;
  knownSource(bench, source);
  if (heater.coolers.length === 0) return posteriorOf(bench, source);
  return studyOf(bench).once(`posterior ${source}`, () =>
    chipPosterior(heater, source, sourceTerm(heater, source), (chip) => posteriorOf(bench, chip)),
  );
}
