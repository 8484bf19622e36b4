/**
 * Everything that a bench says of one of its sources: the dummy heater, or a chip by its name. Whoever wants a source's
 * temperature limit, leak, uncertainties or shape asks here.
 */
import { shippedSource, shippedSources } from '../surfaces/shipped-sources.ts';
import { checkSource, type Source } from '../surfaces/source-geometry.ts';
import type { Bench, Chip } from './bench.ts';
import { BenchError } from './bench-error.ts';
import { didYouMean, nearestName } from './nearest-name.ts';

/** Leak of a heater or a chip where none is stated (an assumption). */
export const LEAK_DEFAULT = { value: 0, uncertainty: 0.05 };

/** What stands for the keys that a chip's entry leaves out. */
export const CHIP_DEFAULTS = { sensor_systematic_K: 2, power_systematic_percent: 3 };

/** A chip of which nothing is stated. */
export function defaultChip(chip: string): Chip {
  return { chip, ...CHIP_DEFAULTS, leak_W_per_K: LEAK_DEFAULT, extra: Object.create(null) };
}

/** The heater or a chip in the same figures, each a standard uncertainty where it is one. */
export interface BenchSource {
  /** The most that its supply gives, W, where that is stated. */
  readonly power_max_W?: number;
  /** Systematic error of the sensor that reads its temperature, K. */
  readonly sensor_systematic_K: number;
  /** The part of it that all sessions have in common, K: a chip's sensor is on the die, a heater's is calibrated anew. */
  readonly sensor_common_K: number;
  /** Systematic error of its metered power, %. */
  readonly power_systematic_percent: number;
  /** What it loses to the room past the cooler. */
  readonly leak_W_per_K: { readonly value: number; readonly uncertainty: number };
}

/** The part of a bench, and of bench.yaml, that tells its sources. */
export type SourceFigures = Pick<Bench, 'heater' | 'chips' | 'instruments'>;

/** The chip of that name, where bench.yaml or the runs name it. */
export function chipNamed({ chips }: Pick<Bench, 'chips'>, source: string): Chip | undefined {
  return chips.find(({ chip }) => chip === source);
}

/**
 * The figures of a source; a chip that only the runs name has the defaults.
 *
 * @example sourceOf(bench, 'heater').leak_W_per_K.value // 0, unless bench.yaml states another
 */
export function sourceOf(bench: SourceFigures, source: string): BenchSource {
  if (source !== 'heater') {
    const chip = chipNamed(bench, source) ?? defaultChip(source);
    return { ...chip, sensor_common_K: chip.sensor_systematic_K };
  }
  const { heater, instruments } = bench;
  return {
    power_max_W: heater.power_max_W,
    sensor_systematic_K: instruments.source_temperature.systematic_K,
    sensor_common_K: 0,
    power_systematic_percent: instruments.power.systematic_percent,
    leak_W_per_K: heater.leak_W_per_K,
  };
}

/**
 * Temperature at which a source throttles or has to be switched off, °C: as bench.yaml states it or, for a chip, as its
 * shape has it; `undefined` where neither does.
 *
 * @throws BenchError where the chip's `geometry` is no shape
 */
export function temperatureLimit(bench: Pick<Bench, 'heater' | 'chips'>, source: string): number | undefined {
  if (source === 'heater') return bench.heater.temperature_limit_C;
  return chipNamed(bench, source)?.temperature_limit_C ?? shapeOf(bench, source)?.temperature_limit_C;
}

/**
 * The shape of a source where it is known.
 *
 * The heater is the shipped one, with the face that bench.yaml states. A chip's `geometry` is the name of a shipped source or
 * a mapping with the keys of a source file; without it a shipped source of the chip's own name stands. `undefined`: nothing is known of the shape.
 *
 * @throws BenchError where `geometry` is neither
 * @example shapeOf(bench, 'heater')?.face // { width_mm: 37.4, depth_mm: 37.4 }
 */
export function shapeOf(bench: Pick<Bench, 'heater' | 'chips'>, source: string): Source | undefined {
  if (source === 'heater') {
    const heater = shippedSource('heater') as Source;
    return bench.heater.face_mm ? withFace(heater, bench.heater.face_mm) : heater;
  }
  const stated = chipNamed(bench, source)?.extra.geometry;
  if (stated === undefined || stated === null) return shippedSource(source);
  if (typeof stated === 'string') {
    const shipped = shippedSource(stated);
    if (shipped) return { ...shipped, source };
    const names = shippedSources.map((one) => one.source);
    const near = nearestName(stated, names);
    throw chipFault(
      source,
      `geometry "${stated}" is not a shipped source${near ? `; did you mean "${near}"?` : ''}; accepted are ${names.join(', ')} or a mapping with face, plate, hot_spots and sensor`,
    );
  }
  if (typeof stated !== 'object' || Array.isArray(stated)) {
    throw chipFault(
      source,
      'geometry has to be the name of a shipped source or a mapping with face, plate, hot_spots and sensor',
    );
  }
  const whole = { source, title: source, ...stated };
  return checkSource(whole, (path, what) =>
    chipFault(source, `geometry${path.map((key) => `, ${key}`).join('')}: ${what}`),
  );
}

/** A source that gives its heat evenly over a face of other sides, mm. */
export function withFace(source: Source, [width_mm, depth_mm]: readonly [number, number]): Source {
  const face = { width_mm, depth_mm };
  return { ...source, face, hot_spots: [{ ...source.hot_spots[0], x_mm: 0, y_mm: 0, ...face, share: 1 }] };
}

/**
 * The name of a source, once the bench is seen to have it.
 *
 * @throws BenchError naming those that it has
 */
export function knownSource({ chips }: Pick<Bench, 'chips'>, source: string): string {
  const known = ['heater', ...chips.map(({ chip }) => chip)];
  if (known.includes(source)) return source;
  const accepted = known.slice(0, 12).join(', ');
  throw new BenchError(
    '--source',
    1,
    1,
    `no source "${source}" on this bench${didYouMean(source, known)}; give one of ${accepted}`,
  );
}

/** A fault in a chip's part of bench.yaml. */
export function chipFault(source: string, what: string): BenchError {
  return new BenchError('bench.yaml', 1, 1, `chips, ${source}: ${what}`);
}
