import type { CoolerRuns } from '../fit/cooler-runs.ts';

/** An operating point of one cooler, and which rise is meant there: the mean, a specimen's, a fitting's or a reading of it. */
export interface RisePoint {
  /** Metered load, W. */
  readonly power_W: number;
  /** Fan speed over the cooler's greatest, density of the air included. */
  readonly speed: number;
  /** Further inputs of the formulas by name, such as `q`, pump speed over its greatest; 1 where absent. */
  readonly more?: Readonly<Record<string, number>>;
  /** One specimen; absent: the mean over specimens. */
  readonly sample?: string;
  /** One fitting of that specimen, null for a run whose fitting nobody noted; absent: the mean over fittings. */
  readonly mount?: string | null;
  /** A run on the heater, asked for where the answers are for a chip. */
  readonly onHeater?: true;
  /** For a reading: its standard uncertainty beside the scatter of readings, K; absent: the true rise. */
  readonly reading_u_K?: number;
}

/** Points at several loads and one speed, further inputs of the formulas with it. */
export function atLoads(
  power_W: readonly number[],
  speed: number,
  more?: Readonly<Record<string, number>>,
): RisePoint[] {
  return power_W.map((power) => ({ power_W: power, speed, ...(more && { more }) }));
}

/** Where a run was done; the mean over specimens there. */
export function pointOfRun(data: CoolerRuns, i: number): RisePoint {
  const more = Object.fromEntries([...data.more].map(([name, values]) => [name, values[i]]));
  return { power_W: data.power_W[i], speed: data.speed[i], more };
}

/** A run as the reading that it was. */
export function readingPoint(data: CoolerRuns, i: number): RisePoint {
  const { sample, mount = null } = data.runs[i];
  return { ...pointOfRun(data, i), sample, mount, reading_u_K: data.known_K[i] };
}
