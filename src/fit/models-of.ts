import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import type { Model } from '../formula/model.ts';
import { shippedModels } from '../formula/shipped-models.ts';

type ModelReader = (text: string, file: string) => Model;

let reader: ModelReader | undefined;

/**
 * Says how a lab's own model files are read. Reading needs a formula parser with units, which takes longer to load than a
 * bench takes to fit; so the command line loads it only for a bench that has such files.
 */
export function useModelReader(read: ModelReader): void {
  reader = read;
}

/**
 * The models to try on a bench: the shipped ones and the lab's own from its `models/` folder.
 *
 * @throws BenchError on a fault in a file, or where two models have one name
 */
export function modelsOf(bench: Bench): Model[] {
  const models = [...shippedModels];
  for (const [file, text] of bench.modelFiles) {
    if (!reader)
      throw new Error('modelsOf: no reader of model files has been set; call useModelReader first');
    const model = reader(text, file);
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
