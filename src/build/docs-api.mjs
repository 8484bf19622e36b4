import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';

/**
 * The reference of the library, made of the declarations that the compiler wrote.
 *
 * What is public is what index.d.ts exports. A type that a public declaration names without its being exported is shown after the
 * rest, so that nobody has to look for it.
 *
 * @param {string} types  folder of the declarations
 */
export function apiReference(types) {
  const index = join(types, 'index.d.ts');
  const entries = exportsOf(index);
  const names = new Set(entries.map((entry) => entry.name));
  const supporting = new Map();
  const follow = (entry) => {
    for (const name of namedIn(entry.text)) {
      if (names.has(name) || supporting.has(name)) continue;
      const found = declarationFor(entry.file, name);
      if (found === undefined) continue;
      supporting.set(name, found);
      follow(found);
    }
  };
  for (const entry of entries) follow(entry);
  const byName = (a, b) => (a.name < b.name ? -1 : a.name > b.name ? 1 : 0);
  const ofKind = (...kinds) => entries.filter((entry) => kinds.includes(entry.kind)).sort(byName);
  const sections = [
    ['Functions', ofKind('function', 'const')],
    ['Classes', ofKind('class')],
    ['Types', ofKind('interface', 'type')],
    ['Named by these, not exported', [...supporting.values()].sort(byName)],
  ].filter(([, list]) => list.length > 0);
  // Two headings that differ in case alone have one anchor, and the later one a number.
  const anchors = new Map();
  const seen = new Map();
  for (const entry of sections.flatMap(([, list]) => list)) {
    const anchor = entry.name.toLowerCase();
    const before = seen.get(anchor) ?? 0;
    seen.set(anchor, before + 1);
    anchors.set(entry, before === 0 ? anchor : `${anchor}-${before}`);
  }
  const link = (entry) => `[${entry.name}](#${anchors.get(entry)})`;
  return `${[
    '# Library',
    "What `import { … } from 'heatladder'` gives, in Node and in a browser. Units are in the names: W, K, °C, rpm, dBA, s, mm, µm. Functions that answer from a bench return what the command of that name prints with `--json`.",
    ...sections.map(([title, list]) => `**${title}:** ${list.map(link).join(', ')}`),
    ...sections.flatMap(([title, list]) => [`## ${title}`, ...list.map(entryText)]),
  ].join('\n\n')}\n`;
}

/** Every declaration that a file exports, those of other files included. */
function exportsOf(file) {
  const text = readFileSync(file, 'utf8');
  const found = declarations(file);
  for (const [, clause, from] of text.matchAll(/^export (?:type )?(\*|\{[^}]*\}) from '([^']+)';/gm)) {
    const all = exportsOf(resolve(file, from));
    if (clause === '*') {
      found.push(...all);
      continue;
    }
    for (const item of clause.slice(1, -1).split(',')) {
      const name = item.replace(/^\s*type\s/, '').trim();
      if (name === '') continue;
      const there = all.find((entry) => entry.name === name);
      if (there === undefined) throw new Error(`${from} declares no ${name}`);
      found.push(there);
    }
  }
  return [...new Map(found.map((entry) => [entry.name, entry])).values()];
}

function resolve(file, from) {
  return join(dirname(file), from.replace(/\.ts$/, '.d.ts'));
}

const HEAD = /^(export )?(declare )?(abstract )?(interface|type|function|class|const) ([A-Za-z_$][\w$]*)/gm;

/** The declarations of one file; overloads of a function are one. */
function declarations(file, exportedOnly = true) {
  const text = readFileSync(file, 'utf8');
  const found = new Map();
  for (const match of text.matchAll(HEAD)) {
    const [, exported, , , kind, name] = match;
    if (exportedOnly && !exported) continue;
    const body = text.slice(match.index, endOf(text, match.index, kind));
    const earlier = found.get(name);
    if (earlier) earlier.text += `\n${tidy(body)}`;
    else found.set(name, { name, kind, file, text: tidy(body), comment: commentBefore(text, match.index) });
  }
  return [...found.values()];
}

function tidy(body) {
  return body
    .replace(/^(export )?(declare )?/, '')
    .replace(/^( {4})+/gm, (spaces) => spaces.slice(spaces.length / 2));
}

/** Where a declaration ends: the brace that closes its body, or the semicolon that stands outside all brackets. */
function endOf(text, start, kind) {
  const braced = kind === 'interface' || kind === 'class';
  let depth = 0;
  for (let i = start; i < text.length; i++) {
    if (text.startsWith('/*', i)) i = text.indexOf('*/', i) + 1;
    else if (text[i] === "'" || text[i] === '"' || text[i] === '`') i = text.indexOf(text[i], i + 1);
    else if ('({['.includes(text[i])) depth += 1;
    else if (')}]'.includes(text[i])) {
      depth -= 1;
      if (braced && depth === 0 && text[i] === '}') return i + 1;
    } else if (!braced && depth === 0 && text[i] === ';') return i + 1;
  }
  return text.length;
}

/** The doc comment that ends right before a declaration. */
function commentBefore(text, start) {
  const before = text.slice(0, start).trimEnd();
  if (!before.endsWith('*/')) return '';
  const comment = before.slice(before.lastIndexOf('/**'));
  return comment
    .replace(/^\/\*\*\s?/, '')
    .replace(/\s*\*\/$/, '')
    .replace(/^\s*\* ?/gm, '')
    .trim();
}

/** Names of types in a declaration, comments and strings aside. */
function namedIn(text) {
  const code = text.replace(/\/\*[\s\S]*?\*\//g, '').replace(/'[^']*'/g, '');
  return new Set(code.match(/\b[A-Z][A-Za-z0-9]*\b/g) ?? []);
}

/** The declaration that a name stands for in a file: its own, or of where the file imports it from. */
function declarationFor(file, name) {
  const own = declarations(file, false).find((entry) => entry.name === name);
  if (own) return own;
  const text = readFileSync(file, 'utf8');
  for (const [, clause, from] of text.matchAll(/^import (?:type )?\{([^}]*)\} from '(\.[^']+)';/gm)) {
    for (const item of clause.split(',')) {
      const [there, here = there] = item
        .replace(/^\s*type\s/, '')
        .trim()
        .split(' as ');
      const target = resolve(file, from);
      if (here !== name || !existsSync(target)) continue;
      const found = declarationFor(target, there);
      // An alias keeps apart what has the same name in two files.
      return found && { ...found, name, text: found.text.replace(there, name) };
    }
  }
  for (const [, from] of text.matchAll(/^export (?:type )?\* from '(\.[^']+)';/gm)) {
    const found = declarationFor(resolve(file, from), name);
    if (found) return found;
  }
  return undefined;
}

function entryText(entry) {
  return [`### ${entry.name}`, ...commentText(entry.comment), `\`\`\`ts\n${entry.text}\n\`\`\``].join('\n\n');
}

/** A doc comment as paragraphs: its text, then parameters, result, errors and example. */
function commentText(comment) {
  if (comment === '') return [];
  const [text, ...tags] = comment.split(/^@/m);
  const parts = [text.trim()];
  const list = [];
  const examples = [];
  for (const tag of tags) {
    const [, name, rest] = /^(\w+)\s*([\s\S]*)$/.exec(tag);
    const value = rest.trim();
    if (name === 'example') examples.push(`Example:\n\n\`\`\`ts\n${value}\n\`\`\``);
    else if (name === 'param') {
      const [, parameter, about] = /^(\S+)\s*([\s\S]*)$/.exec(value);
      list.push(`- \`${parameter}\`: ${oneLine(about)}`);
    } else list.push(`- ${name}: ${oneLine(value)}`);
  }
  if (list.length > 0) parts.push(list.join('\n'));
  return [...parts, ...examples].filter(Boolean).map((part) => part.replace(/\{@link ([^}]+)\}/g, '`$1`'));
}

function oneLine(text) {
  return text.replace(/\s*\n\s*/g, ' ').trim();
}
