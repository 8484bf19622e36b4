// Bundles one of the studies beside this file and runs it: node test/benchmarks/run.mjs NAME [arguments]
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

const here = dirname(fileURLToPath(import.meta.url));
const [name, ...rest] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), 'heatladder-study-'));
try {
  const outfile = join(folder, 'study.mjs');
  await build({
    entryPoints: [join(here, `${name}.ts`)],
    outfile,
    bundle: true,
    platform: 'node',
    format: 'esm',
    target: 'node20',
    logLevel: 'error',
    banner: {
      js: "import { createRequire } from 'node:module'; const require = createRequire(import.meta.url);",
    },
  });
  process.exitCode =
    spawnSync(process.execPath, ['--enable-source-maps', outfile, ...rest], { stdio: 'inherit' }).status ?? 1;
} finally {
  rmSync(folder, { recursive: true, force: true });
}
