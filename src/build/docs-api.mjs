/**
 * The reference of the library, made of its declarations in one file.
 *
 * @param {string} text  dist/index.d.ts
 */
export function apiReference(text) {
  const entries = declarations(text).filter((entry) => entry.exported);
  const byName = (a, b) => (a.name < b.name ? -1 : a.name > b.name ? 1 : 0);
  const ofKind = (...kinds) => entries.filter((entry) => kinds.includes(entry.kind)).sort(byName);
  const sections = [
    ['Functions', ofKind('function', 'const')],
    ['Classes', ofKind('class')],
    ['Types', ofKind('interface', 'type')],
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

/**
 * Names that the declarations hold without giving them to a user: types that a public signature needs and nobody can write.
 *
 * @param {string} text  dist/index.d.ts
 * @example notExported('export declare const a: Inner;\ndeclare type Inner = 1;') // ['Inner']
 */
export function notExported(text) {
  return declarations(text)
    .filter((entry) => !entry.exported)
    .map((entry) => entry.name);
}

const HEAD = /^(export )?(declare )?(abstract )?(interface|type|function|class|const) ([A-Za-z_$][\w$]*)/gm;

/** The declarations of the file; overloads of a function are one. */
function declarations(text) {
  // A name that the language has already is declared under another and given out under its own.
  const renamed = new Map();
  for (const [, clause] of text.matchAll(/^export \{([^}]*)\}/gm)) {
    for (const item of clause.split(',')) {
      const [inner, outer = inner] = item.trim().split(' as ');
      if (inner !== '') renamed.set(inner, outer);
    }
  }
  const found = new Map();
  for (const match of text.matchAll(HEAD)) {
    const [, given, , , kind, inner] = match;
    const exported = given !== undefined || renamed.has(inner);
    const name = renamed.get(inner) ?? inner;
    const body = tidy(text.slice(match.index, endOf(text, match.index, kind))).replace(inner, name);
    const earlier = found.get(name);
    if (earlier) earlier.text += `\n${body}`;
    else found.set(name, { name, kind, exported, text: body, comment: commentBefore(text, match.index) });
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
