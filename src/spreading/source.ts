/**
 * A source as data: the face it offers to the cooler, what lies under that face, where the heat arises, where the
 * sensor sits, and how hot it may get. The dummy heater and a chip differ in these figures and in nothing else, so that
 * a cooler's model is kept when the source is swapped.
 *
 * Places are in mm from the middle of the face, so that a face of any size fits on a base of any size.
 */
import { isMap, isScalar, isSeq, LineCounter, type Node, parseDocument } from 'yaml';
import { BenchError } from '../bench/bench-error.ts';
import type { Point, Rectangle } from './rectangle.ts';

export interface HotSpot extends Rectangle {
  name: string;
  /** Share of the source's power, 0 … 1; all shares make 1. */
  share: number;
}

export interface Source {
  source: string;
  title: string;
  /** The face that meets the cooler: a lid's upper side, or a heater block's end. */
  face: { width_mm: number; depth_mm: number };
  /** What carries the heat from the hot spots to that face. */
  plate: { thickness_mm: number; k_W_per_mK: number };
  /** Between hot spots and plate, over the hot spots' own area, m²K/W; 0 for a heater's block. */
  joint_m2K_per_W: number;
  hot_spots: HotSpot[];
  sensor: Point;
  /** Where it throttles or must be switched off. */
  temperature_limit_C?: number;
}

/**
 * Reads one source from the text of its file.
 *
 * @param file  name for messages
 * @throws BenchError at the first fault: not YAML, a key missing or unknown, a figure out of range, a hot spot beyond
 *   the face, shares that do not make 1
 * @example readSource('models/sources/heater.yaml', text).face // { width_mm: 37.4, depth_mm: 37.4 }
 */
export function readSource(file: string, text: string): Source {
  const lines = new LineCounter();
  const document = parseDocument(text, { lineCounter: lines, prettyErrors: false });
  const fault = (offset: number, what: string): never => {
    const { line, col } = lines.linePos(offset);
    throw new BenchError(file, Math.max(1, line), Math.max(1, col), what);
  };
  const broken = document.errors[0];
  if (broken) fault(broken.pos[0], `${broken.message}; a YAML file of one source is accepted`);
  const reader = new Reader(document.contents as Node | null, fault);
  return readTop(reader);
}

function readTop(top: Reader): Source {
  top.only([
    'source',
    'title',
    'face',
    'plate',
    'joint_m2K_per_W',
    'hot_spots',
    'sensor',
    'temperature_limit_C',
  ]);
  const face = top.at('face').only(['width_mm', 'depth_mm']);
  const size = { width_mm: face.positive('width_mm'), depth_mm: face.positive('depth_mm') };
  const plate = top.at('plate').only(['thickness_mm', 'k_W_per_mK']);
  const hot_spots = top.each('hot_spots').map((spot) => readSpot(spot, size));
  const shares = hot_spots.reduce((sum, spot) => sum + spot.share, 0);
  if (Math.abs(shares - 1) > 1e-6) {
    top.at('hot_spots').refuse(`the shares of the hot spots make ${shares}; shares that make 1 are accepted`);
  }
  const sensor = top.at('sensor').only(['x_mm', 'y_mm']);
  return {
    source: top.text('source'),
    title: top.text('title'),
    face: size,
    plate: { thickness_mm: plate.positive('thickness_mm'), k_W_per_mK: plate.positive('k_W_per_mK') },
    joint_m2K_per_W: top.has('joint_m2K_per_W') ? top.number('joint_m2K_per_W', 0, 1) : 0,
    hot_spots,
    sensor: {
      x_mm: sensor.number('x_mm', -size.width_mm / 2, size.width_mm / 2),
      y_mm: sensor.number('y_mm', -size.depth_mm / 2, size.depth_mm / 2),
    },
    ...(top.has('temperature_limit_C')
      ? { temperature_limit_C: top.number('temperature_limit_C', 0, 1000) }
      : {}),
  };
}

function readSpot(spot: Reader, face: { width_mm: number; depth_mm: number }): HotSpot {
  spot.only(['name', 'x_mm', 'y_mm', 'width_mm', 'depth_mm', 'share']);
  const read: HotSpot = {
    name: spot.text('name'),
    x_mm: spot.number('x_mm', -face.width_mm / 2, face.width_mm / 2),
    y_mm: spot.number('y_mm', -face.depth_mm / 2, face.depth_mm / 2),
    width_mm: spot.positive('width_mm'),
    depth_mm: spot.positive('depth_mm'),
    share: spot.number('share', 0, 1),
  };
  const beyond =
    Math.abs(read.x_mm) + read.width_mm / 2 > face.width_mm / 2 + 1e-9 ||
    Math.abs(read.y_mm) + read.depth_mm / 2 > face.depth_mm / 2 + 1e-9;
  if (beyond) spot.refuse(`the hot spot reaches beyond the face of ${face.width_mm} × ${face.depth_mm} mm`);
  return read;
}

/** A YAML mapping with places for messages. */
class Reader {
  readonly #node: Node | null;
  readonly #fault: (offset: number, what: string) => never;

  constructor(node: Node | null, fault: (offset: number, what: string) => never) {
    this.#node = node;
    this.#fault = fault;
  }

  refuse(what: string): never {
    return this.#fault(this.#node?.range?.[0] ?? 0, what);
  }

  only(keys: readonly string[]): this {
    if (!isMap(this.#node)) return this.refuse(`a mapping with the keys ${keys.join(', ')} is accepted here`);
    for (const { key } of this.#node.items) {
      const name = isScalar(key) ? String(key.value) : '';
      if (!keys.includes(name)) {
        const offset = isScalar(key) ? (key.range?.[0] ?? 0) : 0;
        this.#fault(offset, `unknown key ${name}; accepted are ${keys.join(', ')}`);
      }
    }
    return this;
  }

  has(key: string): boolean {
    return isMap(this.#node) && this.#node.has(key);
  }

  at(key: string): Reader {
    const child = isMap(this.#node) ? (this.#node.get(key, true) as Node | undefined) : undefined;
    if (!child) return this.refuse(`the key ${key} is missing`);
    return new Reader(child, this.#fault);
  }

  each(key: string): Reader[] {
    const list = this.at(key);
    if (!isSeq(list.#node) || list.#node.items.length === 0)
      return list.refuse(`${key} is not a list of one or more`);
    return list.#node.items.map((item) => new Reader(item as Node, this.#fault));
  }

  text(key: string): string {
    const child = this.at(key);
    const value = isScalar(child.#node) ? child.#node.value : undefined;
    if (typeof value !== 'string' || value === '')
      return child.refuse(`${key} is not a text of one or more characters`);
    return value;
  }

  number(key: string, low: number, high: number): number {
    const child = this.at(key);
    const value = isScalar(child.#node) ? child.#node.value : undefined;
    if (typeof value !== 'number' || !(value >= low && value <= high)) {
      return child.refuse(`${key} is not a number from ${low} to ${high}`);
    }
    return value;
  }

  positive(key: string): number {
    const value = this.number(key, 0, 1e6);
    return value > 0 ? value : this.at(key).refuse(`${key} is 0; a number above 0 is accepted`);
  }
}
