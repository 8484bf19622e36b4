import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { SYMBOLS } from '../../src/answers/fit.ts';
import { shippedModels } from '../../src/formula/shipped-models.ts';

it('every fitted symbol of the shipped models is explained by fit and in the glossary', () => {
  const glossary = readFileSync(new URL('../../docs/glossary.md', import.meta.url), 'utf8');
  const names = new Set(shippedModels.flatMap(({ parameters }) => parameters.map(({ name }) => name)));
  expect(Object.keys(SYMBOLS).sort()).toEqual([...names].sort());
  for (const name of names) expect(glossary, name).toContain(`\n| ${name} |`);
});
