import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import type { Model } from '../model/model.ts';
import { readModel } from '../model/read-model.ts';
import { shippedModels } from '../model/shipped-models.ts';

/**
 * The models to try on a bench: the shipped ones and the lab's own from its `models/` folder.
 *
 * @throws BenchError on a fault in a file, or where two models have one name
 */
export function modelsOf(bench: Bench): Model[] {
  const models = [...shippedModels];
  for (const [file, text] of bench.modelFiles) {
    const model = readModel(text, file);
    if (models.some((other) => other.name === model.name)) {
      throw new BenchError(
        file,
        1,
        1,
        `there is a model "${model.name}" already; give this one another name`,
      );
    }
    models.push(model);
  }
  return models;
}
