/**
 * What docs/commands/*.md and docs/api.md hold: a command's page is its own help, a worked example that is run on the demo bench,
 * and the fields of its JSON; the reference of the library is made of its declarations.
 */
import { cpSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { apiReference } from './docs-api.mjs';
import { examples } from './docs-examples.mjs';

const LONGEST = 48;

/** The parts of a command's help: what it is about, and what follows. */
async function helpOf(name, heatladder) {
  const text = (await heatladder(`heatladder ${name} --help`, tmpdir())).stdout.trimEnd();
  const [about, ...rest] = text.split('\n\n');
  const example = text.slice(text.indexOf('\nExample\n') + 9).trim();
  return { about: about.replaceAll('\n', ' '), usage: rest.slice(0, -1).join('\n\n'), example };
}

/** The options of a help text, each with its lines. */
function optionsOf(usage) {
  const [head, list = ''] = usage.split('\n\nOptions\n');
  return { head, options: list.split(/\n(?= {2}-)/) };
}

/** What an option is called and what it says, however wide its help is set. */
const wordsOf = (option) => option.replace(/\s+/g, ' ').trim();

/** Options that so many commands take in the same words are conditions, and stand on the index page alone. */
const SHARED_BY = 4;

function sharedOptions(helps) {
  const count = new Map();
  for (const { usage } of helps)
    for (const option of optionsOf(usage).options) {
      const words = wordsOf(option);
      count.set(words, (count.get(words) ?? 0) + 1);
    }
  return new Set([...count].filter(([, times]) => times >= SHARED_BY).map(([words]) => words));
}

function ownUsage(usage, shared) {
  const { head, options } = optionsOf(usage);
  const own = options.filter((option) => !shared.has(wordsOf(option)));
  return own.length === 0 ? head : `${head}\n\nOptions\n${own.join('\n')}`;
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

async function commandPage(name, summary, { about, usage, example }, shared, demo, heatladder) {
  const plan = examples[name] ?? {};
  const folder = mkdtempSync(join(tmpdir(), 'heatladder-docs-'));
  try {
    if (name !== 'init') cpSync(demo, join(folder, 'demo-bench'), { recursive: true });
    for (const line of plan.before ?? []) await heatladder(line, folder);
    const line = plan.line ?? example;
    const { stdout, stderr } = await heatladder(line, folder);
    const output = stdout === '' ? stderr : stdout;
    const said = stdout === '' ? '' : stderr.trimEnd();
    const parts = [
      `# ${name}`,
      `${summary[0].toUpperCase()}${summary.slice(1)}.`,
      about,
      fenced('text', ownUsage(usage, shared)),
      sharedSentence(usage, shared),
      '## Example',
      name === 'init'
        ? 'In an empty folder:'
        : `On the demo bench (\`heatladder init demo-bench\`)${
            plan.before ? `, after ${plan.before.map((text) => `\`${text}\``).join(', ')}` : ''
          }:`,
      fenced('sh', line),
      output.trim() === '' ? 'It prints nothing and writes the file.' : fenced('text', shortened(output)),
      ...(said ? ['On standard error:', fenced('text', shortened(said))] : []),
    ];
    if (/\n\s+--json\b/.test(usage)) {
      const fresh = line.replace(/my-bench$|(?<=^heatladder init )demo-bench$/, 'another');
      const json = `${fresh} --json`;
      const documents = (await heatladder(json, folder)).stdout.trimEnd().split('\n');
      const fields = fieldsOf(JSON.parse(documents.at(-1)));
      const how = documents.length > 1 ? 'One object a line, one for each row of the log' : 'One document';
      parts.push(
        '## What `--json` holds here',
        `${how} on standard output. \`[]\` stands for each entry of a list; further fields may be added.`,
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

function sharedSentence(usage, shared) {
  const names = optionsOf(usage)
    .options.filter((option) => shared.has(wordsOf(option)))
    .map((option) => `\`${/--[a-z-]+/.exec(option)[0]}\``);
  return `With the [options that commands share](README.md#options-that-commands-share): ${names.join(', ')}.`;
}

/** Commands in the order of the overview, each with its summary; `completion` prints a script and answers from no bench. */
async function catalogue(heatladder) {
  const { stdout } = await heatladder('heatladder --help', tmpdir());
  const block = stdout.slice(stdout.indexOf('\nCommands\n') + 10, stdout.indexOf('\n\nOptions'));
  const found = [];
  for (const line of block.split('\n')) {
    const begins = /^ {2}(\S+)\s+(.*)$/.exec(line);
    if (begins) found.push([begins[1], begins[2]]);
    else found.at(-1)[1] += ` ${line.trim()}`;
  }
  return found.filter(([name]) => name !== 'completion');
}

function indexPage(commands, shared) {
  return `# Commands

In the order of the work on a bench. Each page is the command's own help, an example that was run, and the fields of its JSON.

| command | does |
|---|---|
${commands.map(([name, summary]) => `| [${name}](${name}.md) | ${summary} |`).join('\n')}

The same everywhere: \`--help\` with an example; \`--json\`, on all but \`report\`, prints one document (\`watch\`: one a line) on standard output and nothing else; progress and
warnings go to standard error. The status is 0 when done, 2 for bad input or bad use, with one message that names file, line and column and what
would be accepted, and 1 for a fault of the program. Files are written whole or not at all. The same input and \`--seed\` give the same bytes.

## Options that commands share

Each command's page and its \`--help\` say which of them it takes.

| option | meaning |
|---|---|
${shared}
`;
}

/**
 * The pages of the commands and of the library: path under docs → text.
 *
 * @param {(args: string[], cwd: string) => Ended | Promise<Ended>} program  the command line; `Ended` is
 *   `{ status, stdout, stderr }`, with tables for 80 columns
 * @param {string} declarations  text of dist/index.d.ts
 */
export async function pages(program, declarations) {
  const heatladder = async (line, cwd) => {
    const words = [...line.matchAll(/"([^"]*)"|(\S+)/g)].map((match) => match[1] ?? match[2]);
    const [name, ...args] = words;
    if (name !== 'heatladder') throw new Error(`an example has to begin with heatladder: ${line}`);
    const ended = await program(args, cwd);
    if (ended.status !== 0) throw new Error(`"${line}" ended with ${ended.status}: ${ended.stderr}`);
    return ended;
  };
  const commands = await catalogue(heatladder);
  const helps = new Map();
  for (const [name] of commands) helps.set(name, await helpOf(name, heatladder));
  const shared = sharedOptions([...helps.values()]);
  const rows = [...shared].map((words) => {
    const [, option, meaning] = /^((?:-\w, )?--[a-z-]+(?: [A-Z,]+(?= ))?) (.*)$/.exec(words);
    return `| \`${option}\` | ${meaning} |`;
  });
  const made = new Map([['commands/README.md', indexPage(commands, rows.join('\n'))]]);
  const folder = mkdtempSync(join(tmpdir(), 'heatladder-docs-'));
  try {
    await heatladder('heatladder init demo-bench', folder);
    const demo = join(folder, 'demo-bench');
    for (const [name, summary] of commands)
      made.set(
        `commands/${name}.md`,
        await commandPage(name, summary, helps.get(name), shared, demo, heatladder),
      );
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  made.set('api.md', apiReference(declarations));
  return made;
}

/** Which of the pages that are made are not in the folder docs as they should be, and which of its commands' pages are no more. */
export function stale(made, docs) {
  const held = existsSync(join(docs, 'commands')) ? readdirSync(join(docs, 'commands')) : [];
  const as = (path) => (existsSync(join(docs, path)) ? readFileSync(join(docs, path), 'utf8') : undefined);
  return {
    changed: [...made].filter(([path, text]) => as(path) !== text).map(([path]) => path),
    gone: held.map((name) => `commands/${name}`).filter((path) => !made.has(path)),
  };
}
