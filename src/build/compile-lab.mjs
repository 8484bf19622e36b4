import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parse } from 'yaml';

/** Data file of models/lab, module and constant that it becomes, and its type. */
const modules = [
  { from: 'coolers', to: 'lab-data', name: 'labData', type: 'LabData', typeFrom: 'cooler-spec' },
  { from: 'curves', to: 'curve-data', name: 'curveData', type: 'CurveData', typeFrom: 'curve-cooler' },
];

/**
 * Turns models/lab/*.yaml into modules of src/lab, so that the virtual labs also run where there are no files. The type
 * checker then checks the data against their types.
 *
 * @param {string | URL} root  folder that holds models and src, with a slash at its end
 */
export function compileLab(root) {
  for (const { from, to, name, type, typeFrom } of modules) {
    const data = parse(readFileSync(new URL(`models/lab/${from}.yaml`, root), 'utf8'));
    const text = `// Made from models/lab/${from}.yaml by src/build/compile-lab.mjs; edit that file instead.
import type { ${type} } from './${typeFrom}.ts';

export const ${name}: ${type} = ${JSON.stringify(data, undefined, 2)};
`;
    writeFileSync(new URL(`src/lab/${to}.generated.ts`, root), text);
  }
}

if (process.argv[1] === fileURLToPath(import.meta.url)) compileLab(new URL('../../', import.meta.url));
