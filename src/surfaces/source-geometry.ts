/**
 * A source as data: the face it offers to the cooler, what lies under that face, where the heat arises, where the
 * sensor sits, and how hot it may get. The dummy heater and a chip differ in these figures and in nothing else, so that
 * a cooler's model is kept when the source is swapped.
 *
 * Places are in mm from the middle of the face, so that a face of any size fits on a base of any size.
 */
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

/** Makes the error for what is wrong at a path; `onKey`: the key itself is at fault, not its value. */
export type SourceFault = (path: readonly string[], what: string, onKey?: boolean) => Error;

/**
 * A source from plain data, every figure checked.
 *
 * @param plain  what a source file holds once parsed
 * @throws what `fault` makes of the first fault: a key missing or unknown, a figure out of range, a hot spot beyond the
 *   face, shares that do not make 1
 */
export function checkSource(plain: unknown, fault: SourceFault): Source {
  return readTop(new Reader(plain, [], fault));
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

/** A mapping with its path for messages. */
class Reader {
  readonly #value: unknown;
  readonly #path: readonly string[];
  readonly #fault: SourceFault;

  constructor(value: unknown, path: readonly string[], fault: SourceFault) {
    this.#value = value;
    this.#path = path;
    this.#fault = fault;
  }

  refuse(what: string): never {
    throw this.#fault(this.#path, what);
  }

  /** Refuses keys beside these. */
  only(keys: readonly string[]): this {
    const mapping = this.#mapping();
    if (!mapping) return this.refuse(`a mapping with the keys ${keys.join(', ')} is accepted here`);
    for (const name of Object.keys(mapping)) {
      if (keys.includes(name)) continue;
      throw this.#fault([...this.#path, name], `unknown key ${name}; accepted are ${keys.join(', ')}`, true);
    }
    return this;
  }

  has(key: string): boolean {
    const mapping = this.#mapping();
    return mapping !== undefined && Object.hasOwn(mapping, key);
  }

  /** The value of a key, which has to be there. */
  at(key: string): Reader {
    const mapping = this.#mapping();
    if (!mapping || !Object.hasOwn(mapping, key)) return this.refuse(`the key ${key} is missing`);
    return new Reader(mapping[key], [...this.#path, key], this.#fault);
  }

  /** The items of a list of one or more. */
  each(key: string): Reader[] {
    const list = this.at(key);
    const items = list.#value;
    if (!Array.isArray(items) || items.length === 0)
      return list.refuse(`${key} is not a list of one or more`);
    return items.map((item: unknown, k) => new Reader(item, [...list.#path, String(k)], this.#fault));
  }

  /** A text that is not empty. */
  text(key: string): string {
    const child = this.at(key);
    const value = child.#value;
    if (typeof value !== 'string' || value === '')
      return child.refuse(`${key} is not a text of one or more characters`);
    return value;
  }

  /** A number within two bounds. */
  number(key: string, low: number, high: number): number {
    const child = this.at(key);
    const value = child.#value;
    if (typeof value !== 'number' || !(value >= low && value <= high)) {
      return child.refuse(`${key} is not a number from ${low} to ${high}`);
    }
    return value;
  }

  /** A number above 0. */
  positive(key: string): number {
    const value = this.number(key, 0, 1e6);
    return value > 0 ? value : this.at(key).refuse(`${key} is 0; a number above 0 is accepted`);
  }

  #mapping(): Record<string, unknown> | undefined {
    const value = this.#value;
    return typeof value === 'object' && value !== null && !Array.isArray(value)
      ? (value as Record<string, unknown>)
      : undefined;
  }
}
