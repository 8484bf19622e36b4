import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { parse } from 'yaml';
import { labData } from '../../src/lab/lab-data.generated.ts';

it('the compiled lab is the one in models/lab', () => {
  const text = readFileSync(new URL('../../models/lab/coolers.yaml', import.meta.url), 'utf8');
  expect(labData).toEqual(parse(text));
  expect(new Set(labData.coolers.map((one) => one.cooler)).size).toBe(labData.coolers.length);
});
