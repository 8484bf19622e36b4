/** A model of a cooler: its thermal resistance as a formula over the load and the speeds. Data, not code. */
import type { Program } from './program.ts';

/**
 * The inputs a model may ask for, with their units.
 *
 * `P` heat into the base (load less what leaks), `n` fan speed over the cooler's greatest, `q` pump speed over its
 * greatest. The density of the air acts on `n`, as a change of speed does. The list is open: a further input is one more line
 * here and one more column where the runs are laid out.
 */
export const MODEL_INPUTS = { P: 'W', n: '1', q: '1' } as const;

export type ModelInput = keyof typeof MODEL_INPUTS;

/** A Gaussian prior, in the parameter's own unit. */
export interface ParameterPrior {
  readonly mean: number;
  readonly standardDeviation: number;
}

export interface ModelParameter {
  readonly name: string;
  /** Coherent SI unit as text: `K/W`, `W`, `W/K`, `1`. */
  readonly unit: string;
  readonly start: number;
  readonly low?: number;
  readonly high?: number;
  readonly prior?: ParameterPrior;
  /** Each cooler's own: what the others have says nothing of it, so it is not pooled over a bench. */
  readonly own?: true;
}

export interface Model {
  readonly name: string;
  readonly title: string;
  /** Where the formula comes from, with edition, or that it is common practice. */
  readonly source: string;
  /** Where it holds, in words. */
  readonly range?: string;
  /** In the order of the program's inputs. */
  readonly inputs: readonly ModelInput[];
  readonly parameters: readonly ModelParameter[];
  /**
   * The parameter, if any, that is the load of a heat-pipe limit, in W of heat into the base. Its prior is then taken from
   * the cooler's own pipes and it is never pooled over coolers.
   */
  readonly limit?: string;
  /** Kind of cooler that the formula is for; absent: both. */
  readonly kind?: 'air' | 'liquid';
  readonly resistanceText: string;
  /** Gives K/W over the inputs and parameters above, in their order. */
  readonly program: Program;
}
