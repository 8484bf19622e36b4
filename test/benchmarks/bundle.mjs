/** Bundles modules of the source and of the studies, so that Node can run them. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { build } from 'esbuild';

const root = fileURLToPath(new URL('../../', import.meta.url));

/**
 * Bundles modules into a new folder, where more can be put; it is there until `use` has ended.
 *
 * @template T
 * @param {string[]} modules  paths from the repository's root
 * @param {(folder: string, bundles: string[]) => T | Promise<T>} use  gets the folder and the path of each bundle, in the same order
 * @param {import('esbuild').BuildOptions} [options]  of the bundler, beside those of all studies
 * @returns {Promise<T>} what `use` returns
 */
export async function withBundles(modules, use, options = {}) {
  const folder = mkdtempSync(join(tmpdir(), 'heatladder-study-'));
  try {
    const bundles = modules.map((module) => join(folder, basename(module).replace(/\.ts$/, '.mjs')));
    await Promise.all(
      modules.map((module, k) =>
        build({
          absWorkingDir: root,
          entryPoints: [module],
          outfile: bundles[k],
          bundle: true,
          platform: 'node',
          format: 'esm',
          target: 'node20',
          logLevel: 'error',
          // As the build does: CommonJS packages inside the bundle still call require for Node's own modules.
          banner: {
            js: "import { createRequire as __createRequire } from 'node:module'; const require = __createRequire(import.meta.url);",
          },
          ...options,
        }),
      ),
    );
    return await use(folder, bundles);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/**
 * Bundles one module and imports it.
 *
 * @param {string} module  path from the repository's root
 */
export function importSource(module) {
  return withBundles([module], (_folder, [bundle]) => import(pathToFileURL(bundle).href));
}
