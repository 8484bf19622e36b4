import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { parse } from 'yaml';
import { curveData } from '../../src/lab/curve-data.generated.ts';
import { labData } from '../../src/lab/lab-data.generated.ts';

it('the compiled labs are those in models/lab', () => {
  const data = (name: string) =>
    parse(readFileSync(new URL(`../../models/lab/${name}.yaml`, import.meta.url), 'utf8'));
  expect(labData).toEqual(data('coolers'));
  expect(curveData).toEqual(data('curves'));
  expect(new Set(labData.coolers.map((one) => one.cooler)).size).toBe(labData.coolers.length);
});
