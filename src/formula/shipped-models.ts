/**
 * The shipped models, compiled at build time from `models/*.yaml`: programs and parameters as plain data, so that
 * neither YAML nor mathjs is loaded to use them.
 */
import type { Model } from './model.ts';
import { compiledModels } from './shipped.generated.ts';

export const shippedModels: readonly Model[] = compiledModels;

/** The shipped model of a name, or `undefined`. */
export function shippedModel(name: string): Model | undefined {
  return shippedModels.find((model) => model.name === name);
}
