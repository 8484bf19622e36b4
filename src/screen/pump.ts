import type { Cooler, Run } from '../bench/bench.ts';
import type { CoolerRuns } from '../fit/cooler-runs.ts';
import { largest } from '../numerics/extremes.ts';

/**
 * Whether a cooler has a pump that can be ill: listed as liquid, or with a pump speed or a coolant temperature in its runs.
 *
 * @param runs  of that cooler
 */
export function hasLoop({ kind }: Pick<Cooler, 'kind'>, runs: readonly Run[]): boolean {
  return kind === 'liquid' || runs.some((run) => run.pump_rpm !== undefined || run.coolant_C !== undefined);
}

/**
 * How the harm of a slow pump depends on the fan: as its speed to this power, between not at all and nearly in proportion.
 *
 * A slow loop takes the plate's resistance up and spreads the coolant's temperature in the radiator; where little air goes through, the
 * radiator hardly notices. 0.2 to 0.8 is what energy balances of plate, loop and cross-flow radiator give between half and full
 * speed (assumption).
 */
const FAN_POWERS = [0.2, 0.5, 0.8];
/** And on the recorded pump speed, to this power inversely: the flow falls in proportion to it, or faster where it creeps (assumption). */
const PUMP_POWERS = [1, 1.8];

/**
 * What the coolant's thermometer shows of a slow pump, over what the source shows.
 *
 * The coolant's own warming, heat over its capacity rate, is inverse to the flow. Its mean is what the radiator needs and moves little, so
 * behind the plate the coolant is half of the added warming hotter and before the plate half of it colder; the source is hotter by about
 * that half and by what the plate's films add. Where the thermometer sits is not on the sheet, so both are tried, each over a range of
 * the plate's own share (assumption), and a place between them, where nothing shows.
 */
const COOLANT_SHARES = [
  { value: 0.6, weight: 0.08 },
  { value: 0.9, weight: 0.12 },
  { value: 1.2, weight: 0.12 },
  { value: 1.5, weight: 0.08 },
  { value: 1.9, weight: 0.05 },
  { value: 0, weight: 0.1 },
  { value: -0.4, weight: 0.05 },
  { value: -0.7, weight: 0.1 },
  { value: -1.1, weight: 0.12 },
  { value: -1.5, weight: 0.1 },
  { value: -2, weight: 0.08 },
];

/** A way in which a slow pump may show over the runs of a cooler. */
export interface PumpShare {
  readonly weight: number;
  /** Harm at each run over that at the greatest speeds run. */
  readonly relative: Float64Array;
  /** The coolant's own warming at each run over that at the greatest speeds, whatever the fan does. */
  readonly flow: Float64Array;
  readonly coolant_shares: readonly { readonly value: number; readonly weight: number }[];
}

/**
 * Patterns of a pump that runs slower than it says.
 *
 * A resistance in series that grows as the flow falls: at one fan speed and one pump speed it is the pattern of an interface, to the last
 * digit, and so it should be, since nothing there can tell them apart. Over fan speeds it falls off with the fan; over pump speeds it
 * grows as the recorded speed falls.
 *
 * @returns patterns whose weights add to 1
 */
export function pumpShares(data: CoolerRuns): PumpShare[] {
  const fan = relativeToGreatest(data.speed);
  const pump = relativeToGreatest(data.more.get('q') ?? new Float64Array(data.runs.length).fill(1));
  const isLogged = data.runs.some((run) => run.coolant_C !== undefined);
  const coolant_shares = isLogged ? COOLANT_SHARES : [{ value: 0, weight: 1 }];
  // At one speed every power says the same.
  const fanPowers = varies(fan) ? FAN_POWERS : [FAN_POWERS[1]];
  const pumpPowers = varies(pump) ? PUMP_POWERS : [1];
  return pumpPowers.flatMap((pumpPower) =>
    fanPowers.map((fanPower) => ({
      weight: 1 / (fanPowers.length * pumpPowers.length),
      relative: fan.map((n, i) => n ** fanPower / pump[i] ** pumpPower),
      flow: pump.map((q) => q ** -pumpPower),
      coolant_shares,
    })),
  );
}

/** Whether a shift differs between the runs by more than 2 %. */
function varies(relative: Float64Array): boolean {
  return relative.some((value) => Math.abs(value - 1) > 0.02);
}

/** Values over the largest of them. */
function relativeToGreatest(values: Float64Array): Float64Array {
  const greatest = largest(values);
  return values.map((value) => value / greatest);
}

/** A recorded pump speed below this share of the usual one is low (an assumption). */
const LOW = 0.9;

/** What the sheet says of the pump of some runs: its speed and the usual one, and whether that is low. */
export interface RecordedPump {
  readonly pump_rpm: number;
  readonly usual_rpm: number;
  readonly isLow: boolean;
}

/**
 * Recorded pump speed of some runs beside that of the cooler's other runs; medians, so that a plan which slows the pump on every mount
 * counts as usual.
 *
 * @returns undefined where either was not recorded
 */
export function recordedPump(runs: readonly Run[], others: readonly Run[]): RecordedPump | undefined {
  const pump_rpm = medianOf(runs);
  const usual_rpm = medianOf(others);
  if (pump_rpm === undefined || usual_rpm === undefined) return undefined;
  return { pump_rpm, usual_rpm, isLow: pump_rpm < LOW * usual_rpm };
}

/** Median recorded pump speed, rpm; `undefined` where no run has one. */
function medianOf(runs: readonly Run[]): number | undefined {
  const speeds = runs.flatMap(({ pump_rpm }) =>
    pump_rpm === undefined || !(pump_rpm > 0) ? [] : [pump_rpm],
  );
  if (speeds.length === 0) return undefined;
  speeds.sort((a, b) => a - b);
  return (speeds[(speeds.length - 1) >> 1] + speeds[speeds.length >> 1]) / 2;
}
