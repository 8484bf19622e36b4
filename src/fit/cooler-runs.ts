import type { Bench, Cooler, Run } from '../bench/bench.ts';
import { densityShare } from '../bench/bench-air.ts';
import { groupedBy } from '../bench/grouped.ts';
import { mountKey } from '../bench/mounts.ts';
import { heatIntoBase, isSame, isZeroLoad, riseOf } from '../bench/run.ts';
import { sourceOf } from '../bench/source.ts';
import { largest, smallest } from '../numerics/extremes.ts';
import { median } from '../numerics/median.ts';
import { studyOf } from '../study.ts';

/**
 * The runs of one cooler on one source, as columns.
 *
 * All arrays have one entry a run. `rise_K` is the measured rise less the bench's estimate of the sensors' offset.
 */
export interface CoolerRuns {
  readonly cooler: Cooler;
  readonly source: string;
  readonly runs: readonly Run[];
  readonly power_W: Float64Array;
  /** Fan speed over the cooler's greatest, times the density of the air over the bench's mean. */
  readonly speed: Float64Array;
  readonly more: ReadonlyMap<string, Float64Array>;
  readonly rise_K: Float64Array;
  /** Heat into the base at the measured rise, W. */
  readonly base_W: Float64Array;
  readonly sample: Int32Array;
  /** Which fitting; negative numbers are runs whose fitting the file does not tell, each its own. */
  readonly mount: Int32Array;
  readonly session: Int32Array;
  /** Loads that count as the same are one: the unit that is left out when models are judged. */
  readonly loadGroup: Int32Array;
  readonly loadGroups: number;
  /** The same for fan speeds. */
  readonly speedGroup: Int32Array;
  readonly speedGroups: number;
  /** Known standard uncertainty of a steady value, K (0 where none is given). */
  readonly known_K: Float64Array;
  readonly powerLow_W: number;
  readonly powerHigh_W: number;
  readonly speedLow: number;
  readonly speedHigh: number;
  /** Median speed run, and the power of one over speed by which the resistance grew from the highest to the lowest; 0 where there is one. */
  readonly middleSpeed: number;
  readonly growth: number;
}

/** Speed below which a fan counts as standing still; the formulas have no value at zero (an assumption). */
const LEAST_SPEED = 0.02;

/** Fan speed as a share of the cooler's greatest; a cooler without a fan is always at 1. */
export function relativeSpeed(cooler: Cooler, fan_rpm: number): number {
  return cooler.fan_max_rpm > 0 ? Math.max(fan_rpm / cooler.fan_max_rpm, LEAST_SPEED) : 1;
}

/** What the sensors of a source read too high in one session. */
export interface SensorOffset {
  readonly value_K: number;
  readonly u_K: number;
}

/**
 * Offset of the rise on a source in one session, from its calibration and from its runs at zero load.
 *
 * The heater's thermometers are calibrated anew for each session. A chip's sensor is on the die, so that its runs without heat in other
 * sessions tell of it too, the thermometer of the air apart.
 */
export function sensorOffset(bench: Bench, source: string, session: string | undefined): SensorOffset {
  const { source_temperature, ambient_temperature } = bench.instruments;
  const { sensor_systematic_K, sensor_common_K } = sourceOf(bench, source);
  const ofSession = sensor_systematic_K ** 2 - sensor_common_K ** 2 + ambient_temperature.systematic_K ** 2;
  const single =
    (source_temperature.resolution_K ** 2 + ambient_temperature.resolution_K ** 2) / 12 +
    0.1 ** 2; /* settling, common practice */
  const read = new Map(zeroLoadRises(bench).get(source));
  const own = read.get(session) ?? [];
  read.delete(session);
  let offset = { value_K: 0, variance: sensor_common_K ** 2 };
  const told = (rises: readonly number[], besides: number) => {
    const { value_K, variance } = offset;
    if (rises.length === 0 || variance === 0) return;
    const mean = rises.reduce((sum, rise) => sum + rise, 0) / rises.length;
    const weight = variance / (variance + besides + single / rises.length);
    offset = { value_K: value_K + weight * (mean - value_K), variance: (1 - weight) * variance };
  };
  for (const rises of read.values()) told(rises, ofSession);
  offset = { ...offset, variance: offset.variance + ofSession };
  told(own, 0);
  return { value_K: offset.value_K, u_K: Math.sqrt(offset.variance) };
}

/** Rises of the runs at zero load, by source and session, K. */
function zeroLoadRises(bench: Bench): Map<string, Map<string | undefined, number[]>> {
  return studyOf(bench).once('rises at zero load', () => {
    const bySource = groupedBy(bench.runs.filter(isZeroLoad), ({ source }) => source);
    return new Map(
      [...bySource].map(([source, zero]) => {
        const bySession = [...groupedBy(zero, ({ session }) => session)];
        return [source, new Map(bySession.map(([session, runs]) => [session, runs.map(riseOf)]))];
      }),
    );
  });
}

/** Offset of a session's rises on a source that a fit takes off: a chip's sensor is one of the errors that its term carries. */
export function offsetOn(bench: Bench, source: string, session: string | undefined): SensorOffset {
  if (source === 'heater') return sensorOffset(bench, source, session);
  const { sensor_common_K } = sourceOf(bench, source);
  return {
    value_K: 0,
    u_K: Math.hypot(sensor_common_K, bench.instruments.ambient_temperature.systematic_K),
  };
}

/**
 * Runs of a cooler on a source as columns; `undefined` when it has none with heat on.
 *
 * @param own  the bench's runs of this cooler on this source
 */
export function coolerRuns(
  bench: Bench,
  cooler: Cooler,
  source: string,
  own: readonly Run[],
): CoolerRuns | undefined {
  const runs = own.filter((run) => !isZeroLoad(run));
  if (runs.length === 0) return undefined;
  const leak = sourceOf(bench, source).leak_W_per_K.value;
  const sessions = new Set(runs.map(({ session }) => session));
  const offsets = new Map([...sessions].map((one) => [one, offsetOn(bench, source, one).value_K]));
  const power_W = Float64Array.from(runs, (run) => run.power_W);
  const speed = Float64Array.from(
    runs,
    (run) => relativeSpeed(cooler, run.fan_rpm) * densityShare(bench, run),
  );
  const rise_K = Float64Array.from(runs, (run) => riseOf(run) - (offsets.get(run.session) as number));
  const sampleNumber = numbering();
  const mountNumber = numbering();
  const sessionNumber = numbering();
  const groups = groupsOf(power_W);
  const speeds = groupsOf(speed);
  const pumpMax = largest(runs.map((run) => run.pump_rpm ?? 0));
  const more = new Map<string, Float64Array>();
  if (cooler.kind === 'liquid') {
    more.set(
      'q',
      Float64Array.from(runs, (run) => (pumpMax > 0 && run.pump_rpm ? run.pump_rpm / pumpMax : 1)),
    );
  }
  const base_W = power_W.map((p, i) => heatIntoBase(p, rise_K[i], leak));
  return {
    cooler,
    source,
    runs,
    power_W,
    speed,
    more,
    rise_K,
    base_W,
    middleSpeed: speed.slice().sort()[Math.floor((runs.length - 1) / 2)],
    growth: growthOf(
      rise_K.map((rise, i) => rise / base_W[i]),
      speed,
      speeds,
    ),
    sample: Int32Array.from(runs, (run) => sampleNumber(run.sample)),
    mount: Int32Array.from(runs, (run, i) => (run.mount === undefined ? -1 - i : mountNumber(mountKey(run)))),
    session: Int32Array.from(runs, (run) => sessionNumber(run.session ?? '')),
    loadGroup: groups.group,
    loadGroups: groups.count,
    speedGroup: speeds.group,
    speedGroups: speeds.count,
    known_K: Float64Array.from(runs, (run) => run.u_K ?? 0),
    powerLow_W: smallest(power_W),
    powerHigh_W: largest(power_W),
    speedLow: smallest(speed),
    speedHigh: largest(speed),
  };
}

/** Numbers 0, 1, 2 … in order of first appearance. */
function numbering(): (name: string) => number {
  const numbers = new Map<string, number>();
  return (name) => {
    let number = numbers.get(name);
    if (number === undefined) {
      number = numbers.size;
      numbers.set(name, number);
    }
    return number;
  };
}

interface Groups {
  readonly group: Int32Array;
  readonly count: number;
}

/** See `CoolerRuns.growth`: by the medians at the two speeds. */
function growthOf(resistance_K_per_W: Float64Array, speed: Float64Array, { group, count }: Groups): number {
  const at = (g: number, of: Float64Array) => median(of.filter((_, i) => group[i] === g));
  const [low, high] = [0, count - 1];
  const slower = Math.log(at(high, speed) / at(low, speed));
  const warmer = at(low, resistance_K_per_W) / at(high, resistance_K_per_W);
  return slower > 0 && warmer > 1 ? Math.min(Math.log(warmer) / slower, STEEPEST) : 0;
}

/** No air side falls faster with speed than this power (an assumption). */
const STEEPEST = 1.5;

/** Sorted values are cut where the next is no longer the same as the first of its group. */
function groupsOf(values: Float64Array): Groups {
  const order = Array.from(values.keys()).sort((a, b) => values[a] - values[b]);
  const group = new Int32Array(values.length);
  let count = 0;
  let first = Number.NaN;
  for (const i of order) {
    if (!isSame(values[i], first)) {
      first = values[i];
      count++;
    }
    group[i] = count - 1;
  }
  return { group, count };
}

/** Whether a relative speed lies below (−1) or above (1) those that were run; a trifle of 3 % counts as run (0). */
export function speedIsOutside({ speedLow, speedHigh }: CoolerRuns, speed: number): -1 | 0 | 1 {
  if (speed < speedLow * 0.97) return -1;
  return speed > speedHigh * 1.03 ? 1 : 0;
}
