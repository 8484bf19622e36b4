/** Bundles a module of the source for a benchmark and imports it. */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { build } from 'esbuild';

/** @param {string} module  path from the repository's root */
export async function importSource(module) {
  const folder = await mkdtemp(join(tmpdir(), 'heatladder-'));
  const outfile = join(folder, 'module.mjs');
  try {
    await build({
      entryPoints: [fileURLToPath(new URL(`../../${module}`, import.meta.url))],
      bundle: true,
      platform: 'node',
      format: 'esm',
      mainFields: ['module', 'main'],
      outfile,
      logLevel: 'error',
    });
    return await import(pathToFileURL(outfile).href);
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}
