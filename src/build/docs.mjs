/**
 * Writes docs/commands/*.md and docs/api.md from what is built: `npm run docs`, which builds first; a test holds the pages
 * against the commands and the declarations.
 */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { pages, stale } from './docs-pages.mjs';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const CLI = join(root, 'dist', 'cli', 'heatladder.js');
const DECLARATIONS = join(root, 'dist', 'index.d.ts');
const docs = join(root, 'docs');

const program = (args, cwd) =>
  spawnSync(process.execPath, [CLI, ...args], {
    cwd,
    encoding: 'utf8',
    env: { ...process.env, COLUMNS: '80', NO_COLOR: '1' },
    maxBuffer: 1 << 28,
  });

try {
  if (!existsSync(CLI) || !existsSync(DECLARATIONS))
    throw new Error('not all is built: `npm run docs` builds first');
  const made = await pages(program, readFileSync(DECLARATIONS, 'utf8'));
  const { gone } = stale(made, docs);
  mkdirSync(join(docs, 'commands'), { recursive: true });
  for (const path of gone) rmSync(join(docs, path));
  for (const [path, text] of made) writeFileSync(join(docs, path), text);
  process.stderr.write(`docs: ${made.size} pages\n`);
} catch (error) {
  process.stderr.write(`docs: ${error instanceof Error ? error.message : error}\n`);
  process.exitCode = 1;
}
