import type { Bench, Chip } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { nearestName } from '../bench/nearest-name.ts';
import { type ClockPair, clockSlope } from '../limits/clock.ts';
import { shippedSource, shippedSources } from '../spreading/shipped-sources.ts';
import { checkSource, type Source } from '../spreading/source.ts';

/**
 * What the bench says of a chip; one that only the runs name has the defaults.
 *
 * @throws BenchError where the bench has no such chip
 */
export function chipOf(bench: Bench, source: string): Chip {
  const chip = bench.chips.find((one) => one.chip === source);
  if (chip) return chip;
  const known = ['heater', ...bench.chips.map((one) => one.chip)];
  const near = nearestName(source, known);
  const hint = near ? `did you mean "${near}"?` : `accepted are ${known.join(', ')}`;
  throw new BenchError('--source', 1, 1, `no source "${source}" on this bench; ${hint}`);
}

/** A fault in a chip's part of bench.yaml. */
function chipFault(source: string, what: string): BenchError {
  return new BenchError('bench.yaml', 1, 1, `chips, ${source}: ${what}`);
}

/**
 * The shape of a source where it is known.
 *
 * A chip's `geometry` in bench.yaml is the name of a shipped source or a mapping with the keys of a source file; without it
 * a shipped source of the chip's own name stands. `undefined`: nothing is known of the shape.
 *
 * @throws BenchError where `geometry` is neither
 * @example geometryOf(bench, 'heater')?.face // { width_mm: 37.4, depth_mm: 37.4 }
 */
export function geometryOf(bench: Bench, source: string): Source | undefined {
  const stated = bench.chips.find((chip) => chip.chip === source)?.extra.geometry;
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

/** A lab's own pairs of temperature and clock at auto-frequency. */
export interface ClockNotes {
  readonly pairs: readonly ClockPair[];
  /** Least step of the chip's clock, MHz; 25 where not stated (common practice, no source). */
  readonly step_MHz: number;
}

/**
 * The pairs of a chip's `clock` in bench.yaml: `{temperature_C: [60, 70, 80], clock_MHz: [5000, 4950, 4900], step_MHz: 25}`.
 *
 * @throws BenchError where the two lists are not of one length, are too short, or hold something that is no number
 */
export function clockOf(bench: Bench, source: string): ClockNotes | undefined {
  const stated = bench.chips.find((chip) => chip.chip === source)?.extra.clock;
  if (stated === undefined || stated === null) return undefined;
  const accepted =
    'accepted is {temperature_C: [60, 70, 80], clock_MHz: [5000, 4950, 4900]}, two lists of one length';
  if (typeof stated !== 'object' || Array.isArray(stated))
    throw chipFault(source, `clock is no mapping; ${accepted}`);
  const { temperature_C, clock_MHz, step_MHz = 25, ...more } = stated as Record<string, unknown>;
  const unknown = Object.keys(more)[0];
  if (unknown !== undefined)
    throw chipFault(source, `clock, ${unknown}: unknown key; ${accepted}, and step_MHz`);
  if (!isNumbers(temperature_C) || !isNumbers(clock_MHz) || temperature_C.length !== clock_MHz.length) {
    throw chipFault(source, `clock: ${accepted}`);
  }
  if (!(typeof step_MHz === 'number' && step_MHz > 0)) {
    throw chipFault(source, 'clock, step_MHz: a number above 0 is accepted');
  }
  const pairs = temperature_C.map((source_C, k) => ({ source_C, clock_MHz: clock_MHz[k] }));
  try {
    clockSlope(pairs);
  } catch (error) {
    if (error instanceof RangeError) throw chipFault(source, `clock: ${error.message}`);
    throw error;
  }
  return { pairs, step_MHz };
}

function isNumbers(list: unknown): list is number[] {
  return Array.isArray(list) && list.every((value) => typeof value === 'number' && Number.isFinite(value));
}
