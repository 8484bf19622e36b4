/**
 * Writes docs/commands/*.md and docs/api.md from what is built: `node src/build/docs.mjs [--check]`.
 *
 * A command's page is its own help, a worked example that is run on the demo bench, and the fields of its JSON. The reference
 * of the library is made of dist/index.d.ts. With --check nothing is written: what is stale is named, and the
 * status is 1. `npm run build` comes first.
 */
import { spawnSync } from 'node:child_process';
import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { apiReference } from './docs-api.mjs';
import { examples, filesFor } from './docs-examples.mjs';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const CLI = join(root, 'dist', 'cli', 'heatladder.js');
const DECLARATIONS = join(root, 'dist', 'index.d.ts');
const LONGEST = 48;

/** Runs one command of the line, without a shell. */
function heatladder(line, cwd) {
  const words = [...line.matchAll(/"([^"]*)"|(\S+)/g)].map((match) => match[1] ?? match[2]);
  const [program, ...args] = words;
  if (program !== 'heatladder') throw new Error(`an example has to begin with heatladder: ${line}`);
  const { status, stdout, stderr } = spawnSync(process.execPath, [CLI, ...args], {
    cwd,
    encoding: 'utf8',
    env: { ...process.env, COLUMNS: '80', NO_COLOR: '1' },
    maxBuffer: 1 << 28,
  });
  if (status !== 0) throw new Error(`"${line}" ended with ${status}: ${stderr}`);
  return { stdout, stderr };
}

/** The parts of a command's help: what it is about, and what follows. */
function helpOf(name) {
  const text = heatladder(`heatladder ${name} --help`, root).stdout.trimEnd();
  const [about, ...rest] = text.split('\n\n');
  const example = text.slice(text.indexOf('\nExample\n') + 9).trim();
  return { about: about.replaceAll('\n', ' '), usage: rest.slice(0, -1).join('\n\n'), example };
}

function shortened(text) {
  const lines = text.trimEnd().split('\n');
  if (lines.length <= LONGEST) return lines.join('\n');
  return [...lines.slice(0, LONGEST), `… (${lines.length - LONGEST} more lines)`].join('\n');
}

const fenced = (language, text) => `\`\`\`${language}\n${text}\n\`\`\``;

/** Keys below these are names of the bench's own, not of the format. */
const NAMED = new Set(['parameters', 'means']);

/** Every path of a JSON document with the types that stand there. */
function fieldsOf(document) {
  const found = new Map();
  const visit = (value, path, parent) => {
    if (Array.isArray(value)) {
      if (value.length === 0 && !found.has(`${path}[]`)) found.set(`${path}[]`, new Set());
      for (const item of value) visit(item, `${path}[]`, '');
    } else if (value !== null && typeof value === 'object') {
      for (const [key, item] of Object.entries(value)) {
        const step = NAMED.has(parent) ? '‹name›' : key;
        visit(item, path === '' ? step : `${path}.${step}`, key);
      }
    } else {
      const type =
        value === null
          ? 'null'
          : { string: 'text', number: 'number', boolean: 'true or false' }[typeof value];
      if (!found.has(path)) found.set(path, new Set());
      found.get(path).add(type);
    }
  };
  visit(document, '', '');
  return [...found].map(([path, types]) => [path, [...types].sort().join(', ') || 'empty here']);
}

function commandPage(name, summary, demo) {
  const { about, usage, example } = helpOf(name);
  const plan = examples[name] ?? {};
  const folder = mkdtempSync(join(tmpdir(), 'heatladder-docs-'));
  try {
    if (name !== 'init') cpSync(demo, join(folder, 'demo-bench'), { recursive: true });
    const extra = filesFor(plan.files ?? []);
    for (const [path, text] of extra) {
      mkdirSync(dirname(join(folder, path)), { recursive: true });
      writeFileSync(join(folder, path), text);
    }
    for (const line of plan.before ?? []) heatladder(line, folder);
    const line = plan.line ?? example;
    const { stdout, stderr } = heatladder(line, folder);
    const output = stdout === '' ? stderr : stdout;
    const said = stdout === '' ? '' : stderr.trimEnd();
    const parts = [
      `# ${name}`,
      `${summary[0].toUpperCase()}${summary.slice(1)}.`,
      about,
      fenced('text', usage),
      '## Example',
      name === 'init'
        ? 'In an empty folder:'
        : `${plan.on ?? 'On the demo bench (`heatladder init demo-bench`)'}${
            plan.before ? `, after ${plan.before.map((text) => `\`${text}\``).join(', ')}` : ''
          }:`,
      fenced('sh', line),
      output.trim() === '' ? 'It prints nothing and writes the file.' : fenced('text', shortened(output)),
      ...(said ? ['On standard error:', fenced('text', shortened(said))] : []),
    ];
    if (/\n\s+--json\b/.test(usage)) {
      const json = name === 'init' ? 'heatladder init another --json' : `${line} --json`;
      const fields = fieldsOf(JSON.parse(heatladder(json, folder).stdout));
      parts.push(
        '## What `--json` holds here',
        'One document on standard output. `[]` stands for each entry of a list; further fields may be added.',
        [
          '| field | type |',
          '|---|---|',
          ...fields.map(([path, types]) => `| \`${path}\` | ${types} |`),
        ].join('\n'),
      );
    }
    return `${parts.join('\n\n')}\n`;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Commands in the order of the overview, each with its summary; `completion` prints a script and answers from no bench. */
function catalogue() {
  const { stdout } = heatladder('heatladder --help', root);
  const block = stdout.slice(stdout.indexOf('\nCommands\n') + 10, stdout.indexOf('\n\nOptions'));
  const found = [];
  for (const line of block.split('\n')) {
    const begins = /^ {2}(\S+)\s+(.*)$/.exec(line);
    if (begins) found.push([begins[1], begins[2]]);
    else found.at(-1)[1] += ` ${line.trim()}`;
  }
  return found.filter(([name]) => name !== 'completion');
}

function indexPage(commands) {
  return `# Commands

In the order of the work on a bench. Each page is the command's own help, an example that was run, and the fields of its JSON.

| command | does |
|---|---|
${commands.map(([name, summary]) => `| [${name}](${name}.md) | ${summary} |`).join('\n')}

The same everywhere: \`--help\` with an example; \`--json\`, on all but \`report\`, prints one document on standard output and nothing else; progress and
warnings go to standard error. The status is 0 when done, 2 for bad input or bad use, with one message that names file, line and column and what
would be accepted, and 1 for a fault of the program. Files are written whole or not at all. The same input and \`--seed\` give the same bytes.
`;
}

/** Path under docs → text, of all that is made. */
function pages() {
  if (!existsSync(CLI) || !existsSync(DECLARATIONS)) {
    throw new Error('nothing is built: run `npm run build` first');
  }
  const commands = catalogue();
  const made = new Map([['commands/README.md', indexPage(commands)]]);
  const folder = mkdtempSync(join(tmpdir(), 'heatladder-docs-'));
  try {
    heatladder('heatladder init demo-bench', folder);
    const demo = join(folder, 'demo-bench');
    for (const [name, summary] of commands) made.set(`commands/${name}.md`, commandPage(name, summary, demo));
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  made.set('api.md', apiReference(readFileSync(DECLARATIONS, 'utf8')));
  return made;
}

function main() {
  const docs = join(root, 'docs');
  const made = pages();
  const held = existsSync(join(docs, 'commands')) ? readdirSync(join(docs, 'commands')) : [];
  const gone = held.map((name) => `commands/${name}`).filter((path) => !made.has(path));
  if (process.argv.includes('--check')) {
    const stale = [...made]
      .filter(
        ([path, text]) => !existsSync(join(docs, path)) || readFileSync(join(docs, path), 'utf8') !== text,
      )
      .map(([path]) => path);
    const wrong = [...stale, ...gone];
    if (wrong.length === 0) return;
    process.stderr.write(`stale: ${wrong.join(', ')}; run \`node src/build/docs.mjs\`\n`);
    process.exitCode = 1;
    return;
  }
  mkdirSync(join(docs, 'commands'), { recursive: true });
  for (const path of gone) rmSync(join(docs, path));
  for (const [path, text] of made) writeFileSync(join(docs, path), text);
  process.stderr.write(`docs: ${made.size} pages\n`);
}

try {
  main();
} catch (error) {
  process.stderr.write(`docs: ${error instanceof Error ? error.message : error}\n`);
  process.exitCode = 1;
}
