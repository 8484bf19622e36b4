import type { Cooler } from '../bench/bench.ts';
import type { BenchPosterior } from './bench-posterior.ts';
import type { SourceScatter } from './chip-scatter.ts';
import { termGiven } from './chip-term.ts';
import type { TermPrior } from './chip-term-prior.ts';
import type { SourceTerm } from './source-term.ts';

/** What was found of a chip's term, as plain data: its prior, by cooler in the bench's order, and its scatter between coolers. */
export interface CompactTerm extends Omit<TermPrior, 'value_K_per_W' | 'baseEffect_K_per_W' | 'own_K_per_W'> {
  value_K_per_W: number[];
  baseEffect_K_per_W: number[];
  own_K_per_W: number[];
  scatter: SourceScatter;
}

/** The term as compact data, without the runs that it is worked out from. */
export function compactTerm({ prior, scatter }: SourceTerm, coolers: readonly Cooler[]): CompactTerm {
  return {
    ...prior,
    value_K_per_W: coolers.map(prior.value_K_per_W),
    baseEffect_K_per_W: coolers.map(prior.baseEffect_K_per_W),
    own_K_per_W: coolers.map(prior.own_K_per_W),
    scatter,
  };
}

/** The term again, from its compact data and the posterior of the heater's runs. */
export function restoreTerm(
  { scatter, ...prior }: CompactTerm,
  heater: BenchPosterior,
  source: string,
): SourceTerm {
  const names = heater.bench.coolers.map((one) => one.cooler);
  const of =
    (values: readonly number[]) =>
    ({ cooler }: Cooler): number =>
      values[names.indexOf(cooler)];
  return termGiven(heater, source, {
    prior: {
      ...prior,
      value_K_per_W: of(prior.value_K_per_W),
      baseEffect_K_per_W: of(prior.baseEffect_K_per_W),
      own_K_per_W: of(prior.own_K_per_W),
    },
    scatter,
  });
}
