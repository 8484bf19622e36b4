/**
 * Writes docs/licences.md: every package whose code is in what is shipped, with its licence and its text.
 *
 * `node src/build/licences.mjs [--check]`. What is shipped is asked of the bundler, not of package.json, so a package that is
 * only a tool is not among them and one that came in by way of another is. With --check nothing is written, and the status is
 * 1 where the file is stale.
 */
import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const target = join(root, 'docs', 'licences.md');

/** What is bundled, and what each bundle is called here. */
const bundles = [
  { part: 'command line', entryPoints: ['src/cli/heatladder.ts'], platform: 'node' },
  { part: 'library', entryPoints: ['src/index.ts'], platform: 'browser' },
  {
    part: 'page',
    entryPoints: ['src/report/page/page.ts', 'src/report/page/worker.ts'],
    platform: 'browser',
  },
  { part: 'charts of the page', entryPoints: ['plotly.js-dist'], platform: 'browser' },
];

async function packagesIn({ entryPoints, platform }) {
  const { metafile } = await build({
    absWorkingDir: root,
    bundle: true,
    entryPoints,
    format: 'esm',
    logLevel: 'error',
    metafile: true,
    outdir: 'unused',
    platform,
    write: false,
  });
  const found = new Set();
  for (const output of Object.values(metafile.outputs)) {
    for (const [input, { bytesInOutput }] of Object.entries(output.inputs)) {
      const place = /^(.*node_modules\/(?:@[^/]+\/)?[^/]+)\//.exec(input)?.[1];
      if (place !== undefined && bytesInOutput > 0) found.add(place);
    }
  }
  return found;
}

function described(place) {
  const { name, version, license } = JSON.parse(readFileSync(join(root, place, 'package.json'), 'utf8'));
  const file = readdirSync(join(root, place)).find((entry) => /^licen[cs]e(\.(md|txt))?$/i.test(entry));
  const text = file === undefined ? '' : readFileSync(join(root, place, file), 'utf8').trim();
  return { name, version, licence: typeof license === 'string' ? license : 'not stated', text };
}

export async function licencesPage() {
  const parts = new Map();
  for (const bundle of bundles) {
    for (const place of await packagesIn(bundle))
      parts.set(place, [...(parts.get(place) ?? []), bundle.part]);
  }
  // One package may lie in several places.
  const byName = new Map();
  for (const [place, where] of parts) {
    const one = described(place);
    const key = `${one.name} ${one.version}`;
    const known = byName.get(key);
    byName.set(key, { ...one, where: [...new Set([...(known?.where ?? []), ...where])] });
  }
  const packages = [...byName].sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0)).map(([, one]) => one);
  const without = packages.filter(({ text }) => text === '');
  return [
    '# Licences of what is shipped',
    '',
    `Heatladder is under the MIT licence. Its package holds code of the ${packages.length} packages below, built in; it installs no other.`,
    'Made by `node src/build/licences.mjs` from what the bundler puts in.',
    '',
    '| package | version | licence | in |',
    '|---|---|---|---|',
    ...packages.map(
      ({ name, version, licence, where }) => `| ${name} | ${version} | ${licence} | ${where.join(', ')} |`,
    ),
    ...(without.length > 0
      ? [
          '',
          `No text comes with ${without.map(({ name }) => name).join(', ')}; the licence is the one that its manifest states.`,
        ]
      : []),
    '',
    '## Texts',
    ...packages.flatMap(({ name, version, text }) =>
      text === ''
        ? []
        : [
            '',
            `### ${name} ${version}`,
            '',
            '```text',
            text
              .replace(/\r\n/g, '\n')
              .replace(/[ \t]+$/gm, '')
              .replaceAll('```', "'''"),
            '```',
          ],
    ),
    '',
  ].join('\n');
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const page = await licencesPage();
  if (!process.argv.includes('--check')) writeFileSync(target, page);
  else if (!existsSync(target) || readFileSync(target, 'utf8') !== page) {
    process.stderr.write('docs/licences.md is stale: run node src/build/licences.mjs\n');
    process.exitCode = 1;
  }
}
