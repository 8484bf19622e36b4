/**
 * Builds the package: `node src/build/build.mjs [--only models|page|code|types] [--fresh]`.
 *
 * models  models/*.yaml → src/formula/shipped.generated.ts, then every compile-*.mjs of this folder: each exports one
 *         function that takes the repository's root as a URL and writes one generated module
 * page    src/report/page/page.ts → src/report/page.generated.ts, its worker → engine.generated.ts and the chart library →
 *         plotly.generated.ts
 * code    src/cli/heatladder.ts → dist/cli, src/index.ts → dist/index.js
 * types   declarations of src/index.ts and of what it names → dist/index.d.ts; only when asked for, with what
 *         `npm run declarations` fetches
 *
 * What a command may be running from is written beside and renamed, and the chunks of the bundle before stay for it; with --fresh,
 * as a package is made, they go.
 *
 * A piece whose entry does not exist is skipped, and said so. Plain JavaScript, because Node 20 runs no TypeScript.
 */
import { createHash } from 'node:crypto';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { gzipSync } from 'node:zlib';
import { build } from 'esbuild';
import { replaceBundle, writeBeside } from './write-beside.mjs';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const at = (path) => join(root, path);

// CommonJS packages inside an ECMAScript bundle still call require for Node's own modules.
const requireBanner =
  "import { createRequire as __createRequire } from 'node:module'; const require = __createRequire(import.meta.url);";

const shared = {
  absWorkingDir: root,
  bundle: true,
  charset: 'utf8',
  format: 'esm',
  legalComments: 'none',
  logLevel: 'warning',
  target: 'es2022',
};

const usual = { models: buildModels, page: buildPage, code: buildCode };
const pieces = { ...usual, types: buildTypes };

function say(text) {
  process.stderr.write(`${text}\n`);
}

async function buildModels() {
  const folder = mkdtempSync(join(tmpdir(), 'heatladder-build-'));
  try {
    const outfile = join(folder, 'compile-models.mjs');
    await build({
      ...shared,
      entryPoints: ['src/build/compile-models.ts'],
      outfile,
      platform: 'node',
      banner: { js: requireBanner },
    });
    const { compileShippedModels } = await import(pathToFileURL(outfile).href);
    const { models, changed } = compileShippedModels(root);
    say(`models: ${models} compiled${changed ? '' : ', unchanged'}`);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  const compilers = readdirSync(at('src/build')).filter((name) => /^compile-.*\.mjs$/.test(name));
  for (const name of compilers.sort()) {
    const [compile] = Object.values(await import(`./${name}`));
    await compile(pathToFileURL(`${root}/`));
    say(`models: ${name} done`);
  }
}

async function buildPage() {
  const entry = 'src/report/page/page.ts';
  if (!existsSync(at(entry))) {
    say(`page: skipped, there is no ${entry}`);
    return;
  }
  const style = 'src/report/page/page.css';
  const { version } = JSON.parse(readFileSync(at('package.json'), 'utf8'));
  const browser = { format: 'iife', platform: 'browser', minify: true };
  const [script, engine, css, plotly] = await Promise.all([
    bundleToText({ ...browser, ...SHORTER, entryPoints: [entry] }),
    bundleToText({ ...browser, entryPoints: ['src/report/page/worker.ts'] }),
    existsSync(at(style)) ? bundleToText({ entryPoints: [style], minify: true }) : '',
    bundleToText({ ...browser, entryPoints: ['plotly.js-dist'], globalName: 'Plotly' }),
  ]);
  const packedEngine = packed(engine);
  const packedPlotly = packed(plotly);
  writeGenerated('page', [
    '// Made from src/report/page by the build; not to be edited.',
    '/** The script, gzipped and in base64, and the SHA-256 of its text in base64: the page allows this script and no other. */',
    `export const pageScriptGzipBase64: string = '${packed(script).toString('base64')}';`,
    `export const pageScriptSha256: string = '${sha256(script)}';`,
    `export const pageStyle: string = ${JSON.stringify(css)};`,
    '/** Version of the package that the page was built with. */',
    `export const pageVersion: string = ${JSON.stringify(version)};`,
  ]);
  writeGenerated('engine', [
    '// What reads and fits a bench in a worker of the page, minified, gzipped and in base64, by the build; not to be edited.',
    `export const engineGzipBase64: string = ${JSON.stringify(packedEngine.toString('base64'))};`,
  ]);
  writeGenerated('plotly', [
    '// The chart library, minified, gzipped and in base64, by the build; not to be edited.',
    `export const plotlyGzipBase64: string = ${JSON.stringify(packedPlotly.toString('base64'))};`,
    '/** SHA-256 of the unpacked text in base64: the page allows this script and no other. */',
    `export const plotlySha256: string = '${sha256(plotly)}';`,
  ]);
  say(
    `page: script ${kilobytes(script.length)}, engine ${kilobytes(packedEngine.length)} and chart library ${kilobytes(packedPlotly.length)} gzipped`,
  );
}

// A bundle is minified, but the names of globals and of their members are left as they are written.
const SHORTER = {
  define: { Float64Array: 'F64', 'Number.POSITIVE_INFINITY': 'Infinity' },
  banner: { js: '"use strict";const F64=Float64Array;' },
};

const packed = (text) => gzipSync(text, { level: 9 });
const sha256 = (text) => createHash('sha256').update(text).digest('base64');

function writeGenerated(name, lines) {
  writeBeside(at(`src/report/${name}.generated.ts`), [...lines, ''].join('\n'));
}

async function bundleToText(options) {
  const { outputFiles } = await build({ ...shared, ...options, write: false });
  return outputFiles[0].text;
}

function kilobytes(bytes) {
  return `${Math.round(bytes / 1000)} kB`;
}

async function buildCode() {
  const command = 'src/cli/heatladder.ts';
  if (existsSync(at(command))) {
    await buildBundle('dist/cli/heatladder.js', {
      entryPoints: [command],
      minifyWhitespace: true,
      platform: 'node',
      target: 'node20',
      banner: { js: requireBanner },
    });
  } else {
    say(`code: skipped, there is no ${command}`);
  }
  const library = 'src/index.ts';
  if (existsSync(at(library))) {
    await buildBundle('dist/index.js', {
      entryPoints: { index: library },
      // Browsers and Node both import this one, so nothing of Node may be in it.
      platform: 'browser',
    });
  } else {
    say(`code: skipped, there is no ${library}`);
  }
}

async function buildBundle(path, options) {
  const { outputFiles } = await build({
    ...shared,
    ...options,
    outdir: dirname(path),
    // Splitting keeps what is imported on demand (mathjs, the report) out of every start.
    splitting: true,
    chunkNames: 'chunks/[name]-[hash]',
    minifySyntax: true,
    write: false,
  });
  const program = options.platform === 'node';
  const files = outputFiles.map((file) => {
    const headless = program && file.path === at(path) && !file.text.startsWith('#!');
    return { path: file.path, text: headless ? `#!/usr/bin/env node\n${file.text}` : file.text };
  });
  const keepOld = !process.argv.includes('--fresh');
  replaceBundle(at(path), files, { keepOld, ...(program ? { mode: 0o755 } : {}) });
  say(`code: ${path}`);
}

async function buildTypes() {
  if (!existsSync(at('src/index.ts'))) {
    say('types: skipped, there is no src/index.ts');
    return;
  }
  const { rolledUpDeclarations } = await import('./declarations/declarations.mjs');
  const { text, leaks } = rolledUpDeclarations(root);
  writeBeside(at('dist/index.d.ts'), text);
  for (const leak of leaks) say(`types: ${leak}`);
  say('types: dist/index.d.ts');
}

async function main() {
  const only = process.argv.indexOf('--only');
  const wanted = only < 0 ? Object.keys(usual) : [process.argv[only + 1]];
  for (const name of wanted) {
    if (!Object.hasOwn(pieces, name)) {
      say(`--only ${name}: one of ${Object.keys(pieces).join(', ')} is accepted`);
      process.exitCode = 2;
      return;
    }
    await pieces[name]();
  }
}

try {
  await main();
} catch (error) {
  // esbuild has already said what is wrong where; its own stack helps nobody.
  say(`build: ${error instanceof Error ? error.message : error}`);
  process.exitCode = 1;
}
