import { studyOf } from '../study.ts';
import { airDensity, SEA_LEVEL_hPa } from './air-density.ts';
import type { Bench, Run } from './bench.ts';
import { BenchError } from './bench-error.ts';
import { standardAtmosphere } from './standard-atmosphere.ts';

/** The room that an answer is for. */
export interface Room {
  readonly ambient_C?: number;
  readonly pressure_hPa?: number;
  readonly altitude_m?: number;
}

/** The air in which a bench was run. */
export interface BenchAir {
  /** Mean pressure of the runs, hPa. */
  readonly pressure_hPa: number;
  /** Whether the runs, or `altitude_m` of bench.yaml, tell it. */
  readonly stated: boolean;
  /** Mean density, kg/m³. */
  readonly density_kg_per_m3: number;
}

/** The mean state of the air over a bench's runs; the sea level of the standard atmosphere where nothing is stated. */
export function benchAir(bench: Bench): BenchAir {
  return studyOf(bench).once('air', () => airOver(bench));
}

/**
 * Pressure and temperature of the bench's air: means over the runs, else by the stated altitude, else at sea
 * level.
 */
function airOver(bench: Bench): BenchAir {
  const { runs } = bench;
  const pressures = runs.flatMap(({ pressure_hPa }) => (pressure_hPa === undefined ? [] : [pressure_hPa]));
  const altitude = bench.altitude_m;
  const stated = pressures.length > 0 || altitude !== undefined;
  let pressure_hPa = SEA_LEVEL_hPa;
  if (pressures.length > 0) pressure_hPa = mean(pressures);
  else if (altitude !== undefined) pressure_hPa = pressureAt('bench.yaml', altitude);
  const ambient = runs.length > 0 ? mean(runs.map((run) => run.ambient_C)) : bench.ambient.setpoint_C;
  return { pressure_hPa, stated, density_kg_per_m3: density(ambient, pressure_hPa) };
}

/**
 * Density of the air of a run over the bench's mean; 1 on a bench whose runs state no pressure.
 *
 * What the air side gets from its fan is mass flow, and a fan moves the same volume at a speed whatever the density (fan laws).
 * Capacity goes as density times speed and so does the Reynolds number: at another density the air side is as at a speed
 * changed in that proportion. Where a run states no pressure the bench's mean stands in.
 */
export function densityShare(bench: Bench, run: Run): number {
  const air = benchAir(bench);
  if (!air.stated) return 1;
  return density(run.ambient_C, run.pressure_hPa ?? air.pressure_hPa) / air.density_kg_per_m3;
}

/**
 * Density of the air of the room asked for over the bench's mean; 1 where no room is asked for.
 *
 * @throws BenchError where pressure and altitude are both given, or are none that a room has
 */
export function roomShare(bench: Bench, room: Room): { share: number; warnings: string[] } {
  const { ambient_C, pressure_hPa, altitude_m } = room;
  if (ambient_C === undefined && pressure_hPa === undefined && altitude_m === undefined) {
    return { share: 1, warnings: [] };
  }
  if (pressure_hPa !== undefined && altitude_m !== undefined) {
    throw new BenchError(
      '--altitude',
      1,
      1,
      'the pressure is given too; give one of --altitude and --pressure',
    );
  }
  if (pressure_hPa !== undefined && !(pressure_hPa >= 300 && pressure_hPa <= 1200)) {
    throw new BenchError(
      '--pressure',
      1,
      1,
      `${pressure_hPa} hPa is not the pressure of a room; give 300 to 1200 hPa`,
    );
  }
  const air = benchAir(bench);
  let pressure = pressure_hPa ?? air.pressure_hPa;
  if (altitude_m !== undefined) pressure = pressureAt('--altitude', altitude_m);
  const moved = pressure_hPa !== undefined || altitude_m !== undefined;
  const share = density(ambient_C ?? bench.ambient.setpoint_C, pressure) / air.density_kg_per_m3;
  const warnings =
    moved && !air.stated
      ? ['the runs state no pressure_hPa: the bench is taken to stand at sea level, 1013 hPa']
      : [];
  return { share, warnings };
}

/** Pressure of the standard atmosphere at an altitude that a room may have. */
function pressureAt(place: string, altitude_m: number): number {
  if (!(altitude_m >= -500 && altitude_m <= 9000)) {
    throw new BenchError(
      place,
      1,
      1,
      `an altitude of ${altitude_m} m is not the altitude of a room; give -500 to 9000 m`,
    );
  }
  return standardAtmosphere(altitude_m).pressure_hPa;
}

/** Density of the air of a room; what a faulty sensor logged beyond any room counts as the nearest end. */
function density(ambient_C: number, pressure_hPa: number): number {
  return airDensity(clamp(ambient_C, -60, 80), clamp(pressure_hPa, 300, 1200));
}

function clamp(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value));
}

function mean(values: readonly number[]): number {
  return values.reduce((a, b) => a + b, 0) / values.length;
}
