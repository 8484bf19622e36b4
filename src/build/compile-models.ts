/**
 * Compiles the shipped model files to plain data: read, checked and proved here once, so that the program need load
 * neither YAML nor mathjs to use them.
 */
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Model } from '../formula/model.ts';
import { readModel } from '../formula/read-model.ts';

/** From the simplest to the richest, then by name: the order in which models are shown. */
function inOrder(a: Model, b: Model): number {
  return a.parameters.length - b.parameters.length || (a.name < b.name ? -1 : 1);
}

/**
 * The text of the generated module.
 *
 * @param files  text of each model file by its name
 * @throws BenchError at the first fault of a file; RangeError where two files have one name
 */
export function compileModels(files: ReadonlyMap<string, string>): string {
  const models = [...files].map(([file, text]) => readModel(text, file)).sort(inOrder);
  for (let k = 1; k < models.length; k++) {
    if (models.slice(0, k).some(({ name }) => name === models[k].name)) {
      throw new RangeError(`two shipped models are named ${models[k].name}`);
    }
  }
  const data = models.map((model) => `  ${JSON.stringify(model)},`).join('\n');
  return [
    '// Made from models/*.yaml by the build; not to be edited.',
    "import type { Model } from './model.ts';",
    '',
    `export const compiledModels: readonly Model[] = [\n${data}\n];`,
    '',
  ].join('\n');
}

/** Compiles the model files of the repository at `root`; leaves the module alone where nothing changed. */
export function compileShippedModels(root: string): { models: number; changed: boolean } {
  const folder = join(root, 'models');
  const names = readdirSync(folder)
    .filter((name) => name.endsWith('.yaml'))
    .sort();
  const files = new Map(names.map((name) => [`models/${name}`, readFileSync(join(folder, name), 'utf8')]));
  const text = compileModels(files);
  const target = join(root, 'src/formula/shipped.generated.ts');
  const changed = readIfThere(target) !== text;
  if (changed) writeFileSync(target, text);
  return { models: names.length, changed };
}

function readIfThere(path: string): string | undefined {
  try {
    return readFileSync(path, 'utf8');
  } catch {
    return undefined;
  }
}
