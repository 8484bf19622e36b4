import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { heatladder } from '../cli/run-cli.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));
const docs = join(root, 'docs');
// Plain JavaScript without declarations, so the compiler is not asked to look at it.
const docsApi: string = '../../src/build/docs-api.mjs';
const docsPages: string = '../../src/build/docs-pages.mjs';

describe('reference pages', () => {
  it('made of the commands and the declarations is that of the build', async () => {
    const { pages, stale } = (await import(/* @vite-ignore */ docsPages)) as {
      pages: (program: typeof heatladder, declarations: string) => Promise<Map<string, string>>;
      stale: (made: Map<string, string>, docs: string) => { changed: string[]; gone: string[] };
    };
    const made = await pages(heatladder, readFileSync(join(root, 'dist/index.d.ts'), 'utf8'));
    // Where not: `npm run docs`.
    expect(stale(made, docs)).toEqual({ changed: [], gone: [] });
  }, 300_000);

  it('has every type that a public signature names, since each is exported', async () => {
    const { notExported } = (await import(/* @vite-ignore */ docsApi)) as {
      notExported: (text: string) => string[];
    };
    const declarations = readFileSync(join(root, 'dist/index.d.ts'), 'utf8');
    expect(notExported(declarations)).toEqual([]);
    // One export taken back, as the extractor writes what is named and not exported.
    const withdrawn = declarations.replace(
      'export declare interface StepResult ',
      'declare interface StepResult ',
    );
    expect(notExported(withdrawn)).toEqual(['StepResult']);
  });
});
