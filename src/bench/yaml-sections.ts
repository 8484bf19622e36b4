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
import { readNumber, unitFault } from './columns.ts';
import { didYouMean } from './nearest-name.ts';
import { benchName, type Quantity, readName, toBenchUnit } from './quantity.ts';
import { shown } from './wording.ts';

/** A mapping of the file: its quantities, its mappings, its other keys. */
export interface Section {
  readonly quantities?: readonly Quantity[];
  readonly sections?: Readonly<Record<string, Section>>;
  /** Sequences of mappings. */
  readonly lists?: Readonly<Record<string, Section>>;
  readonly others?: readonly string[];
  /** Keys of a later stage, kept under `extra` without a warning; that stage reads them. */
  readonly later?: readonly string[];
  /** Unknown keys are kept under `extra` of the mapping itself. */
  readonly keep?: boolean;
}

/**
 * The YAML side of `bench.yaml`: a mapping becomes a plain object under the bench's own names and units, and the place of
 * every value is kept, so that a fault found later by its path can still be told at its line and column.
 */
export class SectionReader {
  readonly warnings: string[] = [];
  private readonly lines = new LineCounter();
  private readonly places = new Map<string, number>();
  private readonly written = new Map<string, string>();
  private readonly file: string;

  constructor(file: string) {
    this.file = file;
  }

  parse(text: string): YAMLMap | undefined {
    let root: Node | null;
    try {
      const document = parseDocument(text, {
        lineCounter: this.lines,
        prettyErrors: false,
        // The library compares every pair of keys, which takes half a minute for 60,000; the visit below does it once.
        uniqueKeys: false,
        strict: true,
        version: '1.2',
        schema: 'core',
        merge: false,
      });
      const wrong = document.errors[0] ?? document.warnings[0];
      if (wrong) throw this.fault(wrong.pos[0], yamlFault(wrong.code, wrong.message));
      root = document.contents;
      visit(document, {
        Node: (_, node) => {
          if (isMap(node)) this.refuseRepeatedKeys(node);
          if (isAlias(node) || (node as { anchor?: string }).anchor) {
            throw this.fault(
              node.range?.[0] ?? 0,
              'anchors (&) and aliases (*) are not read; write the value out',
            );
          }
          if (node.tag?.startsWith('!'))
            throw this.fault(node.range?.[0] ?? 0, `the tag ${shown(node.tag)} is not read; leave it out`);
        },
      });
    } catch (error) {
      if (error instanceof BenchError) throw error;
      throw new BenchError(
        this.file,
        1,
        1,
        'the file cannot be read as YAML, perhaps it is nested too deeply; write keys and values such as "name: my bench"',
      );
    }
    if (root === null || (isScalar(root) && root.value === null)) return undefined;
    if (!isMap(root))
      throw this.fault(root.range?.[0] ?? 0, 'the file must hold keys and values, such as "name: my bench"');
    return root;
  }

  private refuseRepeatedKeys(map: YAMLMap): void {
    const seen = new Set<string>();
    for (const { key } of map.items) {
      if (!isScalar(key)) continue;
      const name = String(key.value);
      if (seen.has(name))
        throw this.fault(key.range?.[0] ?? 0, 'this key is there already; keep one of the two');
      seen.add(name);
    }
  }

  /** A mapping as a plain object under the bench's own names; the place of every value is noted by its path. */
  section(map: YAMLMap, section: Section, path: string): Record<string, unknown> {
    const out: Record<string, unknown> = Object.create(null);
    const extra: Record<string, unknown> = Object.create(null);
    const written = new Map<string, string>();
    const known = [
      ...Object.keys(section.sections ?? {}),
      ...Object.keys(section.lists ?? {}),
      ...(section.others ?? []),
      ...(section.later ?? []),
      ...(section.quantities ?? []).map(benchName),
    ];
    for (const pair of map.items) {
      const keyNode = pair.key as Node;
      const offset = isNode(keyNode) ? (keyNode.range?.[0] ?? 0) : (map.range?.[0] ?? 0);
      if (!isScalar(keyNode)) throw this.fault(offset, 'a key must be a plain word');
      const key = String(keyNode.value);
      const value = pair.value as Node | null;
      const note = (name: string) => {
        this.places.set(`${path}/${name}`, value?.range?.[0] ?? offset);
        this.written.set(`${path}/${name}`, key);
      };
      const own = <T>(record: Readonly<Record<string, T>> | undefined) =>
        record && Object.hasOwn(record, key) ? record[key] : undefined;
      const inner = own(section.sections);
      const items = own(section.lists);
      const empty = value === null || (isScalar(value) && value.value === null);
      const reading = readName(key, section.quantities ?? []);
      if (inner) {
        note(key);
        if (empty) continue;
        if (!isMap(value))
          throw this.issue([...pathOf(path), key], `must hold keys of its own, such as ${exampleKey(inner)}`);
        out[key] = this.section(value, inner, `${path}/${key}`);
      } else if (items) {
        note(key);
        if (empty) continue;
        if (!isSeq(value))
          throw this.issue([...pathOf(path), key], 'must be a list, each item on its own line after "- "');
        out[key] = value.items.map((item, index) => {
          const node = item as Node | null;
          this.places.set(`${path}/${key}/${index}`, node?.range?.[0] ?? offset);
          if (!isMap(node)) {
            throw this.fault(
              node?.range?.[0] ?? offset,
              `an item of ${key} must hold keys, such as "- chip: name"`,
            );
          }
          return this.section(node, items, `${path}/${key}/${index}`);
        });
      } else if (reading.kind === 'read') {
        const target = benchName(reading.quantity);
        const earlier = written.get(target);
        if (earlier !== undefined)
          throw this.fault(offset, `${key} and ${earlier} are the same quantity; keep one of the two`);
        written.set(target, key);
        note(target);
        if (empty) continue;
        const convert = (node: Node | null, label: string): number => {
          const at = node?.range?.[0] ?? offset;
          const source = isScalar(node) ? String(node.source ?? node.value) : undefined;
          if (source === undefined) throw this.fault(at, `${label} needs a number`);
          const written = readNumber(source.trim(), label, (what) => this.fault(at, what));
          const value = toBenchUnit(written, reading.conversion);
          if (!Number.isFinite(value)) throw this.fault(at, `${label} is too large a number`);
          return value;
        };
        out[target] =
          reading.quantity.dimension !== 'conductance'
            ? convert(value, key)
            : isMap(value)
              ? this.leak(value, `${path}/${target}`, key, convert)
              : { value: convert(value, key) };
        if (reading.quantity.dimension === 'conductance') {
          const inside = `${path}/${target}/value`;
          if (!this.places.has(inside)) {
            this.places.set(inside, value?.range?.[0] ?? offset);
            this.written.set(inside, key);
          }
        }
      } else if (section.others?.includes(key)) {
        note(key);
        if (empty) continue;
        // A cooler or chip may be called 120: keep what is written.
        const text = isScalar(value) && typeof value.value !== 'string' ? value.source : undefined;
        out[key] = text ?? plainValue(value);
      } else if (section.later?.includes(key)) {
        note(key);
        extra[key] = plainValue(value);
      } else if (reading.kind === 'no-unit') {
        throw this.fault(offset, unitFault(key, key, reading));
      } else if (reading.kind === 'unknown-unit' && isScalar(value) && typeof value.value === 'number') {
        throw this.fault(offset, unitFault(key, key, reading));
      } else {
        extra[key] = plainValue(value);
        const { line, col } = this.lines.linePos(offset);
        this.warnings.push(
          `${this.file}:${line}:${col}: ${shown(key)} is not a key that is read${didYouMean(key, known)}; it is kept as it is`,
        );
      }
    }
    if (section.keep || path === '') out.extra = extra;
    return out;
  }

  private leak(
    map: YAMLMap,
    path: string,
    label: string,
    convert: (node: Node | null, label: string) => number,
  ): Record<string, number> {
    const out: Record<string, number> = Object.create(null);
    for (const pair of map.items) {
      const keyNode = pair.key as Node;
      const key = isScalar(keyNode) ? String(keyNode.value) : '';
      const value = pair.value as Node | null;
      const offset = keyNode?.range?.[0] ?? map.range?.[0] ?? 0;
      if (key !== 'value' && key !== 'uncertainty') {
        throw this.fault(
          offset,
          `${label} holds ${shown(key)}; it is a number, or {value: …, uncertainty: …}`,
        );
      }
      this.places.set(`${path}/${key}`, value?.range?.[0] ?? offset);
      this.written.set(`${path}/${key}`, `${key} of ${label}`);
      if (value === null || (isScalar(value) && value.value === null)) continue;
      out[key] = convert(value, `${key} of ${label}`);
    }
    return out;
  }

  /** A fault of the value at a path, called by the name the file gives it. */
  issue(path: readonly string[], what: string): BenchError {
    const written = this.written.get(`/${path.join('/')}`) ?? path[path.length - 1] ?? 'the file';
    return this.at(path, `${written} ${what}`);
  }

  /** A fault at the place of a path, or of the nearest mapping around it that the file holds. */
  at(path: readonly string[], what: string): BenchError {
    for (let length = path.length; length > 0; length--) {
      const place = this.places.get(`/${path.slice(0, length).join('/')}`);
      if (place !== undefined) return this.fault(place, what);
    }
    return new BenchError(this.file, 1, 1, what);
  }

  private fault(offset: number, what: string): BenchError {
    const { line, col } = this.lines.linePos(offset);
    return new BenchError(this.file, Math.max(line, 1), Math.max(col, 1), what);
  }
}

function pathOf(path: string): string[] {
  return path.split('/').filter((part) => part !== '');
}

function exampleKey(section: Section): string {
  const first = section.quantities?.[0];
  return first ? benchName(first) : (Object.keys(section.sections ?? {})[0] ?? 'name');
}

/** A value that is carried and not read: text, numbers, lists and mappings, no prototypes. */
function plainValue(node: Node | null | undefined): unknown {
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
