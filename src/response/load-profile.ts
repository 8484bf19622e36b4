import type { Bench } from '../bench/bench.ts';
import { largest } from '../numerics/extremes.ts';
import type { CauerElement } from './cauer.ts';
import { type CoolerNetwork, fitNetwork, type NetworkOptions, networkAtSpeed } from './fit-network.ts';
import { ladderResponse } from './ladder-response.ts';
import { type LimitTimes, limitTimes } from './limit-times.ts';

/** A row of a load profile; each is held until the next. */
export interface ProfileStep {
  readonly time_s: number;
  readonly power_W: number;
  /** Without one: the speed before, at first the speed at which the network was measured. */
  readonly fan_rpm?: number;
}

export interface SimulateOptions extends NetworkOptions {
  readonly cooler: string;
  readonly profile: readonly ProfileStep[];
  /** Default: the bench's setpoint. */
  readonly ambient_C?: number;
  /** Spacing of the answer, s; profile times are always among it. Default: a two-thousandth of the span, rounded up
   * to a whole second. */
  readonly interval_s?: number;
  /** How long after the profile's last row to go on, s. Default: five times the slowest time constant. */
  readonly after_s?: number;
  /** A network fitted before; otherwise {@link fitNetwork}. */
  readonly network?: CoolerNetwork;
  /** Steady resistance at a load and speed, K/W, from a fitted model; otherwise what the logs and runs show. */
  readonly resistance?: (power_W: number, fan_rpm: number) => number;
  /** Temperature limit of the source, °C: when is it met? */
  readonly limit_C?: number;
}

/** Temperature of the source through a load profile, with the network that gave it. */
export interface NetworkSimulation {
  cooler: string;
  source: string;
  ambient_C: number;
  time_s: number[];
  source_C: number[];
  power_W: number[];
  fan_rpm: number[];
  /** Highest temperature and when. */
  peak_C: number;
  peak_s: number;
  foster: { resistance_K_per_W: number; time_s: number }[];
  cauer: { resistance_K_per_W: number; capacity_J_per_K: number }[];
  /** Where a limit was asked for. */
  limit: LimitTimes | null;
  notes: string[];
}

/**
 * Temperature of the source through a load profile, from ambient at its start.
 *
 * @throws RangeError for a profile that is empty, goes back in time or holds a negative load or speed
 * @throws BenchError when the cooler has no step response
 * @example simulateNetwork(bench, { cooler: 'Heron', profile: [{ time_s: 0, power_W: 200 }, { time_s: 600, power_W: 0 }] }).peak_C
 */
export function simulateNetwork(bench: Bench, options: SimulateOptions): NetworkSimulation {
  const { profile } = options;
  refuseProfile(profile);
  const network = options.network ?? fitNetwork(bench, options.cooler, options);
  const ladders = new Map<string, CauerElement[]>();
  const speeds: number[] = [];
  const segments = profile.map((row) => {
    const speed = row.fan_rpm ?? speeds.at(-1) ?? network.fan_rpm;
    speeds.push(speed);
    const resistance = options.resistance?.(row.power_W, speed);
    const key = `${speed} ${resistance ?? ''}`;
    let rungs = ladders.get(key);
    if (!rungs) {
      rungs = networkAtSpeed(network, speed, resistance);
      ladders.set(key, rungs);
    }
    return { from_s: row.time_s, power_W: row.power_W, rungs };
  });
  const time_s = timesOf(profile, network, options);
  const ambient_C = options.ambient_C ?? bench.ambient.setpoint_C;
  const source_C = ladderResponse(segments, time_s).map((rise) => ambient_C + rise);
  let row = 0;
  const rowAt = time_s.map((t) => {
    while (row + 1 < profile.length && profile[row + 1].time_s <= t) row++;
    return row;
  });
  const peak = source_C.indexOf(largest(source_C));
  const { limit_C } = options;
  const top = profile.reduce((most, row, i) => (row.power_W > profile[most].power_W ? i : most), 0);
  const greatest = {
    power_W: profile[top].power_W,
    fan_rpm: speeds[top],
    resistance_K_per_W: options.resistance?.(profile[top].power_W, speeds[top]),
  };
  return {
    cooler: network.cooler,
    source: network.source,
    ambient_C,
    time_s,
    source_C,
    power_W: rowAt.map((i) => profile[i].power_W),
    fan_rpm: rowAt.map((i) => speeds[i]),
    peak_C: source_C[peak],
    peak_s: time_s[peak],
    foster: network.foster.map((element) => ({ ...element })),
    cauer: network.cauer.map((rung) => ({ ...rung })),
    limit:
      limit_C === undefined ? null : limitTimes(network, limit_C, ambient_C, { time_s, source_C }, greatest),
    // What the network says of other speeds holds only where no model says it better.
    notes: options.resistance ? [] : [...network.notes, ...speedsNotRun(network, speeds)],
  };
}

/** Times ascend, loads are 0 or more, speeds above 0. */
function refuseProfile(profile: SimulateOptions['profile']): void {
  if (profile.length === 0)
    throw new RangeError('the profile has no rows; at least one time_s, power_W is needed');
  profile.forEach(({ time_s, power_W, fan_rpm }, i) => {
    const refuse = (what: string) => new RangeError(`row ${i + 1}: ${what}`);
    if (i > 0 && !(time_s > profile[i - 1].time_s))
      throw refuse(`time_s ${time_s} does not come after ${profile[i - 1].time_s}; times must ascend`);
    if (!(power_W >= 0)) throw refuse(`power_W is ${power_W}; a load of at least 0 is accepted`);
    if (fan_rpm !== undefined && !(fan_rpm > 0))
      throw refuse(
        `fan_rpm is ${fan_rpm}; a speed above 0 is accepted, a network without moving air is not known`,
      );
  });
}

/** Even times from the profile's start to five of the slowest time constants after its last row, and the rows' own. */
function timesOf(
  profile: SimulateOptions['profile'],
  { foster }: CoolerNetwork,
  { after_s = 5 * foster[foster.length - 1].time_s, interval_s }: SimulateOptions,
): number[] {
  const start = profile[0].time_s;
  const end = profile[profile.length - 1].time_s + after_s;
  const interval = interval_s ?? Math.max(1, Math.ceil((end - start) / 2000));
  const times = new Set([...profile.map((row) => row.time_s), end]);
  for (let i = 0; start + i * interval < end; i++) times.add(start + i * interval);
  return [...times].sort((a, b) => a - b);
}

/** A note where the profile asks for speeds outside those of the logs, 3 % apart. */
function speedsNotRun({ cooler, speeds: run }: CoolerNetwork, speeds: readonly number[]): string[] {
  const slow = run[0].fan_rpm;
  const fast = run[run.length - 1].fan_rpm;
  if (speeds.every((rpm) => rpm >= 0.97 * slow && rpm <= 1.03 * fast)) return [];
  return [
    `speeds outside ${Math.round(slow)} to ${Math.round(fast)} rpm were not run on ${cooler}; they are extrapolated`,
  ];
}
