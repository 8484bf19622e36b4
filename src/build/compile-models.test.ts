import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { readModel } from '../formula/read-model.ts';
import { shippedModels } from '../formula/shipped-models.ts';
import { compileModels } from './compile-models.ts';

const folder = new URL('../../models/', import.meta.url);
const names = readdirSync(folder).filter((file) => file.endsWith('.yaml'));
const files = new Map(names.map((name) => [name, readFileSync(new URL(name, folder), 'utf8')]));

describe('compileModels', () => {
  test('the compiled models are the files of the models folder, each under its own name', () => {
    expect(shippedModels.map(({ name }) => `${name}.yaml`).sort()).toEqual([...names].sort());
    for (const model of shippedModels) {
      expect(model).toEqual(readModel(files.get(`${model.name}.yaml`) as string, 'file'));
    }
  });

  test('the order of the files does not matter, and each program survives being written out', () => {
    const text = compileModels(files);
    expect(compileModels(new Map([...files].reverse()))).toBe(text);
    expect(text).not.toContain('null');
  });

  test('two models of one name are refused', () => {
    const [text] = files.values();
    expect(() =>
      compileModels(
        new Map([
          ['a.yaml', text],
          ['b.yaml', text],
        ]),
      ),
    ).toThrow(RangeError);
  });

  test.each(names)('%s is refused when a unit in it is wrong', (file) => {
    const text = files.get(file) as string;
    expect(text).toContain('unit: K/W');
    expect(() => readModel(text.replace('unit: K/W', 'unit: W/K'), file)).toThrow(
      /is needed|need one dimension/,
    );
  });
});
