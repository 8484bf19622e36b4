import { isMap, isScalar, isSeq, type Node, type YAMLMap } from 'yaml';
import type { BenchError } from './bench-error.ts';
import { readNumber, unitFault } from './columns.ts';
import { didYouMean } from './nearest-name.ts';
import { benchName, type Quantity, readName, toBenchUnit } from './quantity.ts';
import { shown } from './wording.ts';
import { isNothing, plainValue, YamlFile } from './yaml-file.ts';

/** A mapping of the file: its quantities, its mappings, its other keys. */
export interface Section {
  readonly quantities?: readonly Quantity[];
  readonly sections?: Readonly<Record<string, Section>>;
  /** Sequences of mappings. */
  readonly lists?: Readonly<Record<string, Section>>;
  readonly others?: readonly string[];
  /** Quantities of two values, `[40, 35]`. */
  readonly pairs?: readonly Quantity[];
  /** Mappings of any keys to texts. */
  readonly texts?: readonly string[];
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
  private readonly places = new Map<string, number>();
  private readonly written = new Map<string, string>();
  private readonly yaml: YamlFile;
  /** `undefined`: the file holds nothing. */
  readonly root: YAMLMap | undefined;

  constructor(file: string, text: string) {
    this.yaml = new YamlFile(file, text);
    const { root } = this.yaml;
    if (root && !isMap(root))
      throw this.yaml.fault(root, 'the file must hold keys and values, such as "name: my bench"');
    this.root = root ?? undefined;
  }

  /** A mapping as a plain object under the bench's own names; the place of every value is noted by its path. */
  section(map: YAMLMap, section: Section, path: string): Record<string, unknown> {
    const out: Record<string, unknown> = Object.create(null);
    const extra: Record<string, unknown> = Object.create(null);
    const written = new Map<string, string>();
    for (const pair of map.items) {
      const keyNode = pair.key as Node;
      const offset = keyNode.range?.[0] ?? 0;
      const key = String((keyNode as { value?: unknown }).value);
      const value = pair.value as Node | null;
      const empty = isNothing(value);
      if (empty) this.refuseStrayDigits(keyNode);
      const entry: Entry = { key, value, offset, path: `${path}/${key}` };
      const own = <T>(record: Readonly<Record<string, T>> | undefined) =>
        record && Object.hasOwn(record, key) ? record[key] : undefined;
      const inner = own(section.sections);
      const items = own(section.lists);
      const reading = readName(key, [...(section.quantities ?? []), ...(section.pairs ?? [])]);
      const isLater = section.later?.includes(key);
      if (inner || items || isLater || section.texts?.includes(key) || section.others?.includes(key)) {
        this.note(entry.path, entry);
        if (isLater) extra[key] = plainValue(value);
        if (empty || isLater) continue;
        out[key] = inner
          ? this.inner(entry, inner)
          : items
            ? this.list(entry, items)
            : section.texts?.includes(key)
              ? this.texts(entry)
              : plainText(value);
      } else if (reading.kind === 'read') {
        const target = benchName(reading.quantity);
        const earlier = written.get(target);
        if (earlier !== undefined)
          throw this.yaml.fault(offset, `${key} and ${earlier} are the same quantity; keep one of the two`);
        written.set(target, key);
        this.note(`${path}/${target}`, entry);
        if (empty) continue;
        const isPair = section.pairs?.includes(reading.quantity);
        out[target] = this.quantity({ ...entry, path: `${path}/${target}` }, reading, isPair);
      } else if (reading.kind === 'no-unit' || (reading.kind === 'unknown-unit' && isNumber(value))) {
        throw this.yaml.fault(offset, unitFault(key, key, reading));
      } else {
        extra[key] = plainValue(value);
        const { line, column } = this.yaml.place(offset);
        this.warnings.push(
          `${this.yaml.file}:${line}:${column}: ${shown(key)} is not a key that is read${didYouMean(key, knownKeys(section))}; it is kept as it is`,
        );
      }
    }
    if (section.keep || path === '') out.extra = extra;
    return out;
  }

  /** Where a path's value stands and what the file calls it. */
  private note(path: string, { key, value, offset }: Entry): void {
    this.places.set(path, value?.range?.[0] ?? offset);
    this.written.set(path, key);
  }

  private inner({ value, path }: Entry, section: Section): Record<string, unknown> {
    if (isMap(value)) return this.section(value, section, path);
    throw this.issue(pathOf(path), `must hold keys of its own, such as ${exampleKey(section)}`);
  }

  private list({ key, value, offset, path }: Entry, items: Section): Record<string, unknown>[] {
    if (!isSeq(value)) throw this.issue(pathOf(path), 'must be a list, each item on its own line after "- "');
    return value.items.map((item, index) => {
      const node = item as Node | null;
      const place = node?.range?.[0] ?? offset;
      this.places.set(`${path}/${index}`, place);
      if (isMap(node)) return this.section(node, items, `${path}/${index}`);
      throw this.yaml.fault(place, `an item of ${key} must hold keys, such as "- chip: name"`);
    });
  }

  /** A number, two of them, or a conductance with its uncertainty. */
  private quantity(entry: Entry, { quantity, conversion }: ReadName, isPair = false): unknown {
    const { key, value, offset, path } = entry;
    const convert = (node: Node | null, label: string): number => {
      const at = node?.range?.[0] ?? offset;
      const source = isScalar(node) ? String(node.source ?? node.value) : undefined;
      if (source === undefined) throw this.yaml.fault(at, `${label} needs a number`);
      const written = readNumber(source.trim(), label, (what) => this.yaml.fault(at, what));
      const converted = toBenchUnit(written, conversion);
      if (!Number.isFinite(converted)) throw this.yaml.fault(at, `${label} is too large a number`);
      return converted;
    };
    if (isPair) return this.pair(value, key, convert);
    if (quantity.dimension !== 'conductance') return convert(value, key);
    const out = isMap(value) ? this.leak(value, path, key, convert) : { value: convert(value, key) };
    if (!this.places.has(`${path}/value`)) this.note(`${path}/value`, entry);
    return out;
  }

  private pair(
    value: Node | null,
    key: string,
    convert: (node: Node | null, label: string) => number,
  ): number[] {
    if (isSeq(value) && value.items.length === 2)
      return value.items.map((item) => convert(item as Node, key));
    throw this.yaml.fault(value, `${key} needs two numbers, such as [40, 35]`);
  }

  private texts({ key, value, path }: Entry): Record<string, string> {
    const out: Record<string, string> = Object.create(null);
    for (const [name, entry] of this.yaml.entries(value, key)) {
      this.places.set(`${path}/${name}`, (entry.value ?? entry.key).range?.[0] ?? 0);
      out[name] = isNothing(entry.value) ? '' : this.yaml.textOf(entry, name);
    }
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
      if (isNothing(value)) this.refuseStrayDigits(keyNode);
      if (key !== 'value' && key !== 'uncertainty') {
        throw this.yaml.fault(
          offset,
          `${label} holds ${shown(key)}; it is a number, or {value: …, uncertainty: …}`,
        );
      }
      this.places.set(`${path}/${key}`, value?.range?.[0] ?? offset);
      this.written.set(`${path}/${key}`, `${key} of ${label}`);
      if (isNothing(value)) continue;
      out[key] = convert(value, `${key} of ${label}`);
    }
    return out;
  }

  /** `{systematic_K: 0,5}` is two entries, of which the second is a number alone. */
  private refuseStrayDigits(key: Node): void {
    const digits = isScalar(key) ? (key.source ?? '') : '';
    if (!/^\d+$/.test(digits)) return;
    throw this.yaml.fault(
      key,
      `${digits} stands alone behind a comma; is it the decimals of the number before? write it with a point, such as 0.${digits}`,
    );
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
      if (place !== undefined) return this.yaml.fault(place, what);
    }
    return this.yaml.fault(0, what);
  }
}

/** A key of a mapping with its value, both as they stand in the file. */
interface Entry {
  readonly key: string;
  readonly value: Node | null;
  readonly offset: number;
  readonly path: string;
}

type ReadName = Extract<ReturnType<typeof readName>, { kind: 'read' }>;

const isNumber = (value: Node | null): boolean => isScalar(value) && typeof value.value === 'number';

/** A cooler or chip may be called 120: what is written is kept. */
function plainText(value: Node | null): unknown {
  const text = isScalar(value) && typeof value.value !== 'string' ? value.source : undefined;
  return text ?? plainValue(value);
}

function knownKeys(section: Section): string[] {
  return [
    ...Object.keys(section.sections ?? {}),
    ...Object.keys(section.lists ?? {}),
    ...(section.texts ?? []),
    ...(section.others ?? []),
    ...(section.later ?? []),
    ...(section.quantities ?? []).map(benchName),
    ...(section.pairs ?? []).map(benchName),
  ];
}

function pathOf(path: string): string[] {
  return path.split('/').filter((part) => part !== '');
}

function exampleKey(section: Section): string {
  const first = section.quantities?.[0];
  return first ? benchName(first) : (Object.keys(section.sections ?? {})[0] ?? 'name');
}
