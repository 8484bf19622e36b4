import {
  isAlias,
  isMap,
  isNode,
  isScalar,
  isSeq,
  LineCounter,
  type Node,
  parseDocument,
  visit,
  type YAMLMap,
} from 'yaml';
import { BenchError } from './bench-error.ts';
import { shown } from './wording.ts';

/** A key of a mapping with its value, as they stand in the file. */
export interface YamlEntry {
  readonly key: Node;
  /** `null`: nothing stands behind the key. */
  readonly value: Node | null;
}

/** Where something stands: a node, or an offset into the text. */
type At = Node | number | null | undefined;

/**
 * A file of YAML 1.2 whose every refusal knows its line and column: no aliases, no tags of its own, no repeated keys.
 *
 * @example new YamlFile('bench.yaml', 'name: attic').root // a mapping of one pair
 */
export class YamlFile {
  readonly file: string;
  readonly text: string;
  /** `null`: the file holds nothing. */
  readonly root: Node | null;
  private readonly lines = new LineCounter();

  /** @throws BenchError at the first character that is not plain YAML */
  constructor(file: string, text: string) {
    this.file = file;
    this.text = text;
    this.root = this.parse();
  }

  private parse(): Node | null {
    try {
      const document = parseDocument(this.text, {
        lineCounter: this.lines,
        prettyErrors: false,
        // The library compares every pair of keys, half a minute for 60,000 of them; the visit below looks once.
        uniqueKeys: false,
        strict: true,
        version: '1.2',
        schema: 'core',
        merge: false,
      });
      const wrong = document.errors[0] ?? document.warnings[0];
      if (wrong) throw this.fault(wrong.pos[0], yamlFault(wrong.code, wrong.message));
      visit(document, { Node: (_, node) => this.refuseUnread(node) });
      const { contents } = document;
      return contents === null || (isScalar(contents) && contents.value === null) ? null : contents;
    } catch (error) {
      if (error instanceof BenchError) throw error;
      const what = 'the file cannot be read as YAML, perhaps it is nested too deeply';
      throw new BenchError(this.file, 1, 1, `${what}; write keys and values such as "name: my bench"`);
    }
  }

  private refuseUnread(node: Node): void {
    if (isMap(node)) {
      const seen = new Set<string>();
      for (const { key } of node.items) {
        if (!isScalar(key)) throw this.fault(isNode(key) ? key : node, 'a key must be a plain word');
        const name = String(key.value);
        if (seen.has(name)) throw this.fault(key, 'this key is there already; keep one of the two');
        seen.add(name);
      }
    }
    if (isAlias(node) || (node as { anchor?: string }).anchor)
      throw this.fault(node, 'anchors (&) and aliases (*) are not read; write the value out');
    if (node.tag?.startsWith('!'))
      throw this.fault(node, `the tag ${shown(node.tag)} is not read; leave it out`);
  }

  /** Line and column from 1, the column in characters. */
  place(at: At): { line: number; column: number } {
    const offset = Math.min(typeof at === 'number' ? at : (at?.range?.[0] ?? 0), this.text.length);
    const { line, col } = this.lines.linePos(offset);
    const before = this.text.slice(Math.max(offset - col + 1, 0), offset);
    return line < 1 ? { line: 1, column: 1 } : { line, column: [...before].length + 1 };
  }

  fault(at: At, what: string): BenchError {
    const { line, column } = this.place(at);
    return new BenchError(this.file, line, column, what);
  }

  /** The mapping behind a key. */
  map({ key, value }: YamlEntry, what: string): YAMLMap {
    if (!isMap(value)) throw this.fault(value ?? key, `${what} needs keys and values, such as "key: value"`);
    return value;
  }

  /** The items of the list behind a key; none where nothing stands there. */
  list(entry: YamlEntry | undefined, what: string): Node[] {
    if (!entry || isNothing(entry.value)) return [];
    if (!isSeq(entry.value)) throw this.fault(entry.value, `${what} needs a list, each item after "- "`);
    return entry.value.items.filter(isNode);
  }

  /** The entries of a mapping in their order; without `optional`, any key is accepted. */
  entries(
    map: Node | null,
    what: string,
    required: readonly string[] = [],
    optional?: readonly string[],
  ): Map<string, YamlEntry> {
    const keys = [...required, ...(optional ?? [])];
    if (!isMap(map)) throw this.fault(map, `${what} needs the keys ${keys.join(', ')}, each with a value`);
    const found = new Map<string, YamlEntry>();
    for (const { key, value } of map.items) {
      const name = String((key as { value?: unknown }).value);
      if (optional !== undefined && !keys.includes(name)) {
        const accepted = keys.join(', ');
        throw this.fault(key as Node, `${shown(name)} is not a key of ${what}; accepted are ${accepted}`);
      }
      found.set(name, { key: key as Node, value: isNode(value) ? value : null });
    }
    for (const key of required) if (!found.has(key)) throw this.fault(map, `${what} needs the key ${key}`);
    return found;
  }

  /** Text as it is written, or none: `""`. */
  textOf({ key, value }: YamlEntry, what: string): string {
    if (isScalar(value)) return String(typeof value.value === 'string' ? value.value : value.source).trim();
    throw this.fault(value ?? key, `${what} needs a text`);
  }

  /** Text as it is written, a number or a date too. */
  words(entry: YamlEntry | undefined, what: string): string {
    const value = entry?.value;
    const text = isScalar(value) && value.value !== null ? (value.source ?? String(value.value)) : '';
    if (text.trim() === '') throw this.fault(value ?? entry?.key, `${what} needs a text`);
    return text.trim().normalize('NFC');
  }

  number({ key, value }: YamlEntry, what: string): number {
    if (isScalar(value) && typeof value.value === 'number' && Number.isFinite(value.value))
      return value.value;
    throw this.fault(value ?? key, `${what} needs a finite number`);
  }

  /** The node at a path of keys, or the last of its keys; the nearest that there is. */
  find(path: readonly string[], onKey = false): Node | null {
    let node = this.root;
    for (const [k, name] of path.entries()) {
      if (isSeq(node)) {
        const item = node.items[Number(name)];
        if (!isNode(item)) return node;
        node = item;
        continue;
      }
      const pair = isMap(node) && node.items.find(({ key }) => isScalar(key) && String(key.value) === name);
      if (!pair) return node;
      const last = k === path.length - 1;
      if (!isNode(pair.value) || (onKey && last)) return pair.key as Node;
      node = pair.value;
    }
    return node;
  }
}

/** Whether nothing stands there. */
export function isNothing(node: Node | null): boolean {
  return node === null || (isScalar(node) && node.value === null);
}

/** A node as plain text, numbers, lists and mappings without prototypes. */
export function plainValue(node: Node | null | undefined): unknown {
  if (isScalar(node)) return node.value;
  if (isSeq(node)) return node.items.map((item) => plainValue(item as Node));
  if (isMap(node)) {
    const out: Record<string, unknown> = Object.create(null);
    for (const pair of node.items) {
      if (isScalar(pair.key)) out[String(pair.key.value)] = plainValue(pair.value as Node);
    }
    return out;
  }
  return null;
}

const faultsByCode: Readonly<Record<string, string>> = {
  TAB_AS_INDENT: 'a tab in the indentation; indent with spaces',
  MULTIPLE_DOCS: 'a second document ("---"); keep one document in the file',
  BAD_INDENT:
    'wrong indentation, or a bracket that is not closed; keys of one group begin in the same column',
  RESOURCE_EXHAUSTION: 'nested too deeply; a bench needs four levels',
  BAD_ALIAS: 'anchors (&) and aliases (*) are not read; write the value out',
  TAG_RESOLVE_FAILED: 'a tag (!) that is not read; leave it out, or put the text in quotes',
};

function yamlFault(code: string, message: string): string {
  return Object.hasOwn(faultsByCode, code)
    ? faultsByCode[code]
    : `not valid YAML (${message.split('\n')[0]}); write one "key: value" a line, and quotes around text with signs in it`;
}
