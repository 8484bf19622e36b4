import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parse } from 'yaml';

/**
 * Turns models/lab/coolers.yaml into src/lab/lab-data.generated.ts, so that the virtual lab also runs where there are no files. The
 * type checker then checks the data against `LabData`.
 *
 * @param {string | URL} root  folder that holds models and src, with a slash at its end
 */
export function compileLab(root) {
  const data = parse(readFileSync(new URL('models/lab/coolers.yaml', root), 'utf8'));
  const text = `// Made from models/lab/coolers.yaml by src/build/compile-lab.mjs; edit that file instead.
import type { LabData } from './cooler-spec.ts';

export const labData: LabData = ${JSON.stringify(data, undefined, 2)};
`;
  writeFileSync(new URL('src/lab/lab-data.generated.ts', root), text);
}

if (process.argv[1] === fileURLToPath(import.meta.url)) compileLab(new URL('../../', import.meta.url));
