import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parse } from 'yaml';

/**
 * Turns models/sources/*.yaml into src/surfaces/shipped-sources.generated.ts, so that the shipped sources can be used where
 * there are no files. The text is checked when it is used: see `shippedSources`.
 *
 * @param {string | URL} root  folder that holds models and src, with a slash at its end
 */
export function compileSources(root) {
  const folder = new URL('models/sources/', root);
  const names = readdirSync(folder).filter((name) => name.endsWith('.yaml'));
  const sources = names.sort().map((name) => parse(readFileSync(new URL(name, folder), 'utf8')));
  const text = `// Made from models/sources/*.yaml by src/build/compile-sources.mjs; edit those files instead.
export const compiledSources: readonly unknown[] = ${JSON.stringify(sources, undefined, 2)};
`;
  writeFileSync(new URL('src/surfaces/shipped-sources.generated.ts', root), text);
}

if (process.argv[1] === fileURLToPath(import.meta.url)) compileSources(new URL('../../', import.meta.url));
