/** A checked formula as a tree, each node with where it stands in the text: what is laid out and what units are proved on. */
import type { OperationName } from './program.ts';

export type FormulaTree =
  | { readonly kind: 'number'; readonly value: number; readonly offset: number }
  | { readonly kind: 'symbol'; readonly name: string; readonly offset: number }
  | {
      readonly kind: 'operation';
      readonly name: OperationName;
      /** The operator or function as written, for messages. */
      readonly written: string;
      readonly operands: readonly FormulaTree[];
      readonly offset: number;
    };
