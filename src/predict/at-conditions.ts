import type { Bench } from '../bench/bench.ts';
import { roomShare } from '../bench/bench-air.ts';
import { BenchError } from '../bench/bench-error.ts';
import { nearestName } from '../bench/nearest-name.ts';
import { isZeroLoad } from '../bench/run.ts';
import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { largest, smallest } from '../numerics/extremes.ts';
import { type FanSoundFit, type FanSoundLaw, fanSoundOfBench } from '../sound/fan-sound.ts';
import { type LeastSpeed, leastSpeed } from '../sound/least-speed.ts';
import { type SpeedAtLevel, speedAtLevel } from '../sound/speed-at-level.ts';
import { studyOf } from '../study.ts';
import type { Conditions } from './conditions.ts';
import type { SpeedSpread } from './speed-spread.ts';

/** The fan speed at which one cooler is asked for, and what is known of the sound there. */
export interface SpeedCondition {
  readonly fan_rpm: number;
  /** Fan speed over the cooler's greatest. */
  readonly speed: number;
  /** Standard uncertainty of the relative speed that the condition leaves, 0 where the speed itself is asked for. */
  readonly uncertainty: number;
  /** What is known of the relative speed, where sound was the condition. */
  readonly spread?: SpeedSpread;
  /**
   * Density of the room's air over that of the bench, where another room is asked for. It is in `speed`, since the air side
   * answers to density as to fan speed.
   */
  readonly density?: number;
  /** Further inputs of the formulas: `q`, pump speed over the greatest run, where one was asked for. */
  readonly more?: Readonly<Record<string, number>>;
  /** The pump speed asked for lies outside those that the cooler was run at. */
  readonly isPumpNotRun?: boolean;
  /** Metered level there, background included, where sound was the condition. */
  readonly sound_dBA: number | null;
  readonly notes: readonly string[];
}

/** Level of confidence, checked. */
export function levelOf(conditions: Conditions): number {
  const level = conditions.level ?? 0.95;
  if (!(level > 0.5 && level < 1)) {
    throw new BenchError(
      '--level',
      1,
      1,
      `${level} is not a confidence level; give a number above 0.5 and below 1`,
    );
  }
  return level;
}

/** The coolers asked for, in the bench's order. */
export function coolersAsked(posterior: BenchPosterior, conditions: Conditions): CoolerPosterior[] {
  if (posterior.coolers.length === 0) throw noRuns(posterior);
  const wanted = conditions.coolers;
  if (!wanted) return [...posterior.coolers];
  const known = posterior.coolers.map((cooler) => cooler.data.cooler.cooler);
  for (const name of wanted) {
    if (known.includes(name)) continue;
    const near = nearestName(name, known);
    const hint = near ? `; did you mean "${near}"?` : `; runs are there for ${known.join(', ')}`;
    throw new BenchError('--cooler', 1, 1, `no runs of a cooler "${name}" on ${posterior.source}${hint}`);
  }
  return posterior.coolers.filter((cooler) => wanted.includes(cooler.data.cooler.cooler));
}

/** The refusal of a source without runs. */
function noRuns(posterior: BenchPosterior): BenchError {
  const loaded = posterior.bench.runs.filter((run) => !isZeroLoad(run));
  const sources = [...new Set(loaded.map((run) => run.source))];
  const there =
    sources.length > 0 ? `runs are there on ${sources.join(', ')}` : 'the bench has no runs under load';
  return new BenchError('--source', 1, 1, `no runs with heat on the source "${posterior.source}"; ${there}`);
}

/** The loads asked for, checked and in rising order; `fallback` where none are. */
export function loadsAsked(conditions: Conditions, fallback: () => number[]): number[] {
  const loads = conditions.power_W ?? fallback();
  if (loads.length === 0) {
    throw new BenchError(
      '--power',
      1,
      1,
      'no load given; give one or more loads in W such as 150,250 or 50:350:10',
    );
  }
  for (const load of loads) {
    if (!(load > 0 && load <= 1e5)) {
      throw new BenchError(
        '--power',
        1,
        1,
        `${load} W is not a load; give loads above 0 W, such as 150,250 or 50:350:10`,
      );
    }
  }
  return [...new Set(loads)].sort((a, b) => a - b);
}

/** A few round loads from the least run to half as much again as the greatest. */
export function roundLoads(posterior: BenchPosterior, count: number): number[] {
  const low = smallest(posterior.coolers.map((cooler) => cooler.data.powerLow_W));
  const high = 1.5 * largest(posterior.coolers.map((cooler) => cooler.data.powerHigh_W));
  const raw = (high - low) / Math.max(count - 1, 1);
  const decade = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 5, 10].map((m) => m * decade).find((s) => s >= raw) ?? raw;
  const loads: number[] = [];
  const first = Math.max(step, Math.round(low / step) * step);
  for (let k = 0; first + k * step <= high * 1.0001; k++)
    loads.push(Number((first + k * step).toPrecision(12)));
  return loads.length > 0 ? loads : [low];
}

/** The sound laws of a bench, fitted once. */
export function soundOf(bench: Bench): FanSoundFit {
  return studyOf(bench).once('sound', () => fanSoundOfBench(bench));
}

/** A cooler with the fan speed at which it is asked for. */
export interface CoolerAtSpeed {
  readonly cooler: CoolerPosterior;
  readonly at: SpeedCondition;
}

/**
 * The coolers asked for, each at its speed.
 *
 * At equal sound a cooler without a reading cannot be placed: it is left out with a warning, unless it was asked for by name.
 *
 * @throws BenchError on a condition that cannot be met
 */
export function coolersAtSpeed(
  posterior: BenchPosterior,
  conditions: Conditions,
): { coolers: CoolerAtSpeed[]; warnings: string[] } {
  const asked = coolersAsked(posterior, conditions);
  const given = [conditions.fan_rpm, conditions.fan_percent, conditions.sound_dBA].filter(
    (v) => v !== undefined,
  );
  if (given.length > 1) {
    throw new BenchError(
      '--fan',
      1,
      1,
      'more than one speed condition; give one of --fan-rpm, --fan and --sound',
    );
  }
  const room = roomShare(posterior.bench, conditions);
  const { sound_dBA } = conditions;
  if (sound_dBA === undefined) {
    return {
      coolers: asked.map((cooler) => ({
        cooler,
        at: atPump(cooler, inRoom(speedFor(cooler, conditions), room.share), conditions),
      })),
      warnings: room.warnings,
    };
  }
  const { withSound, warnings } = coolersWithSound(posterior, asked, conditions);
  const level = levelOf(conditions);
  return {
    coolers: withSound.map(({ cooler, law }) => ({
      cooler,
      at: atPump(cooler, inRoom(speedForSound(cooler, law, sound_dBA, level), room.share), conditions),
    })),
    warnings: [...warnings, ...room.warnings],
  };
}

/** Independent parts of the sound level meter's errors that these conditions rest on. */
export function meterErrorsOf(coolers: readonly { readonly at: SpeedCondition }[]): number {
  return Math.max(...coolers.map(({ at }) => at.spread?.meter_ln?.length ?? 0));
}

/** Pump speeds that differ by less than this share count as one. Common practice, no source. */
const SAME_PUMP = 0.03;

/** Puts the pump of a liquid cooler at the speed asked for, with a note where it was not run there; others have no pump. */
function atPump(
  { data }: CoolerPosterior,
  at: SpeedCondition,
  { pump_rpm, pump_percent }: Conditions,
): SpeedCondition {
  if (data.cooler.kind !== 'liquid') return at;
  const run = data.runs.flatMap((one) => (one.pump_rpm ? [one.pump_rpm] : []));
  const [least, greatest] = [smallest(run), largest(run)];
  const stated = Number(data.cooler.extra.pump_max_rpm);
  const full = stated > 0 ? stated : greatest;
  const isAsked = pump_rpm !== undefined || pump_percent !== undefined;
  if (run.length === 0) {
    const note = 'its runs give no pump speed: the answer is for the speed they were done at';
    return isAsked ? { ...at, isPumpNotRun: true, notes: [...at.notes, note] } : at;
  }
  const asked = pump_rpm ?? ((pump_percent ?? 100) / 100) * full;
  const q = (isAsked ? asked : greatest) / greatest;
  const isOut = asked < least * (1 - SAME_PUMP) || asked > greatest * (1 + SAME_PUMP);
  if (!isAsked && !isOut) return at;
  const range =
    greatest - least < SAME_PUMP * greatest
      ? `${Math.round(greatest)} rpm`
      : `${Math.round(least)} to ${Math.round(greatest)} rpm`;
  const note = isAsked
    ? `its pump was run at ${range}, not at the ${Math.round(asked)} rpm asked for`
    : `its pump was run at ${range} and never at its greatest speed of ${Math.round(full)} rpm: the answer is for ${Math.round(greatest)} rpm`;
  return {
    ...at,
    ...(isAsked && { more: { q }, isPumpNotRun: isOut }),
    notes: isOut ? [...at.notes, note] : at.notes,
  };
}

/** Departures of density below this share stay unsaid (an assumption). */
const DENSITY_WORTH_SAYING = 0.01;

/** A speed in a room where the air has another density: the air side is as at a speed changed in that proportion. */
export function inRoom<At extends SpeedCondition>(at: At, density: number): At {
  if (density === 1 || at.fan_rpm === 0) return at;
  const { spread } = at;
  const percent = Math.round(Math.abs(density - 1) * 100);
  const side = density < 1 ? 'thinner' : 'denser';
  const note = `the room's air is ${percent} % ${side} than the bench's, which counts as so much ${density < 1 ? 'less' : 'more'} fan speed`;
  return {
    ...at,
    speed: at.speed * density,
    uncertainty: at.uncertainty * density,
    ...(spread && {
      spread: {
        ...spread,
        middle: spread.middle * density,
        least: spread.least * density,
        greatest: spread.greatest * density,
      },
    }),
    density,
    notes: Math.abs(density - 1) < DENSITY_WORTH_SAYING ? at.notes : [...at.notes, note],
  };
}

/** A cooler with the law of its sound. */
export interface CoolerWithSound {
  readonly cooler: CoolerPosterior;
  readonly law: FanSoundLaw;
}

/**
 * The coolers asked for that have sound readings, and a warning for each that has none, for what the readings leave open
 * and for every least stable speed that is assumed.
 *
 * @throws BenchError where none has, or where one without was asked for by name
 */
export function coolersWithSound(
  posterior: BenchPosterior,
  asked: readonly CoolerPosterior[],
  conditions: Conditions,
): { withSound: CoolerWithSound[]; warnings: string[] } {
  const sound = soundOf(posterior.bench);
  const withSound: CoolerWithSound[] = [];
  const warnings: string[] = [...sound.warnings];
  for (const cooler of asked) {
    const name = cooler.data.cooler.cooler;
    const law = sound.laws.get(name);
    if (law) {
      withSound.push({ cooler, law });
      continue;
    }
    const why = `no sound level for "${name}": ${sound.unheard.get(name) ?? 'it has no readings'}`;
    if (conditions.coolers) {
      throw new BenchError(
        '--sound',
        1,
        1,
        `${why}; add rows to noise.csv or a sound_dBA column to runs.csv`,
      );
    }
    warnings.push(`${why}; it is left out`);
  }
  if (withSound.length === 0) {
    throw new BenchError(
      '--sound',
      1,
      1,
      'no cooler has a sound reading; add noise.csv or a sound_dBA column to runs.csv',
    );
  }
  const assumed = withSound.flatMap(({ cooler, law }) => {
    const least = leastSpeedOf(cooler, law);
    return least.assumed ? [`${cooler.data.cooler.cooler} ${least.reason}`] : [];
  });
  if (assumed.length > 0) {
    warnings.push(
      `coolers.csv gives no fan_min_rpm, so a least stable speed is assumed: ${assumed.join('; ')}`,
    );
  }
  return { withSound, warnings };
}

/** The least stable speed of a cooler, stated or assumed from the speeds at which it was run and metered. */
export function leastSpeedOf(cooler: CoolerPosterior, law: FanSoundLaw | undefined): LeastSpeed {
  const run = cooler.data.runs.map((one) => one.fan_rpm);
  return leastSpeed(cooler.data.cooler, law ? [...run, law.lowestSpeed_rpm] : run);
}

/**
 * The speed at which one cooler meets a level, as a condition for its rise.
 *
 * @throws BenchError if the level is at or below the background
 */
export function speedForSound(
  cooler: CoolerPosterior,
  law: FanSoundLaw,
  sound_dBA: number,
  level: number,
): SpeedForSound {
  // The last level asked for is kept: an order, curves over load and what sound buys ask for the same one in turn.
  const kept = studyOf(cooler).once('speed at the last level', (): { last?: SpeedFound } => ({}));
  const { last } = kept;
  if (last && last.law === law && last.sound_dBA === sound_dBA && last.level === level) return last.answer;
  const answer = findSpeedForSound(cooler, law, sound_dBA, level);
  kept.last = { law, sound_dBA, level, answer };
  return answer;
}

type SpeedForSound = SpeedCondition & { readonly found: SpeedAtLevel };

interface SpeedFound {
  readonly law: FanSoundLaw;
  readonly sound_dBA: number;
  readonly level: number;
  readonly answer: SpeedForSound;
}

/**
 * The speed at which a cooler makes a level, its spread in ln speed, and how it answers to the meter's
 * errors.
 */
function findSpeedForSound(
  cooler: CoolerPosterior,
  law: FanSoundLaw,
  sound_dBA: number,
  level: number,
): SpeedForSound {
  const { fan_max_rpm } = cooler.data.cooler;
  const least = leastSpeedOf(cooler, law);
  const found = speedAtLevel(law, sound_dBA, { fan_max_rpm, fan_min_rpm: least.fan_rpm, level });
  const { fan_rpm } = found.unlimited;
  // Held by an end of its speeds a cooler answers to the meter on one side only: what it answers then counts as its own.
  const isHeld = found.limitedBy !== 'none';
  const { low_rpm, high_rpm } = isHeld ? found.unlimited : (found.withoutMeter ?? found.unlimited);
  const meter_ln = found.withoutMeter?.meter_ln.map((slope) => (isHeld ? 0 : slope));
  return {
    fan_rpm: found.fan_rpm,
    speed: found.fan_rpm / fan_max_rpm,
    uncertainty: found.u_rpm / fan_max_rpm,
    spread: {
      middle: fan_rpm / fan_max_rpm,
      logDown: Math.log(fan_rpm / low_rpm) / found.multiple,
      logUp: Math.log(high_rpm / fan_rpm) / found.multiple,
      least: least.fan_rpm / fan_max_rpm,
      greatest: 1,
      ...(meter_ln && { meter_ln }),
    },
    sound_dBA: found.sound_dBA,
    notes:
      found.limitedBy === 'least-stable-speed' && least.assumed
        ? [...found.notes, `its least stable speed is assumed: ${least.reason}`]
        : found.notes,
    found,
  };
}

/**
 * Below this share of its least stable speed a fan moves no air that the formulas could tell of. Chosen: no
 * source.
 */
const FAR_BELOW = 0.3;

/** Speeds below this are refused for a cooler, rpm; 0 for one without a fan. */
export function leastAnswered_rpm(cooler: CoolerPosterior): number {
  return cooler.data.cooler.fan_max_rpm > 0 ? FAR_BELOW * leastSpeedOf(cooler, undefined).fan_rpm : 0;
}

/** The speed for one cooler where speed itself is the condition. */
function speedFor(cooler: CoolerPosterior, { fan_rpm, fan_percent }: Conditions): SpeedCondition {
  const most = cooler.data.cooler.fan_max_rpm;
  const share = fan_percent === undefined ? 1 : fan_percent / 100;
  const asked = fan_rpm ?? share * most;
  if (!(asked >= 0) || (most > 0 && asked === 0)) {
    const option = fan_rpm === undefined ? '--fan' : '--fan-rpm';
    throw new BenchError(option, 1, 1, `the fan speed has to be above 0; give for example 60% or 1200`);
  }
  const stable = leastSpeedOf(cooler, undefined);
  if (asked < leastAnswered_rpm(cooler)) {
    const name = cooler.data.cooler.cooler;
    const least = stable.assumed ? stable.reason : `${Math.round(stable.fan_rpm)} rpm by coolers.csv`;
    throw new BenchError(
      fan_rpm === undefined ? '--fan' : '--fan-rpm',
      1,
      1,
      `${Number(asked.toPrecision(3))} rpm is far below the least speed at which the fan of "${name}" runs steadily (${least}); give at least ${Math.ceil(FAR_BELOW * stable.fan_rpm)} rpm, or other coolers with --cooler`,
    );
  }
  const notes: string[] = [];
  if (asked > most * 1.0001 && most > 0) notes.push(`above its greatest speed, ${Math.round(most)} rpm`);
  const least = cooler.data.cooler.fan_min_rpm;
  if (least !== undefined && asked < least)
    notes.push(`below its least stable speed, ${Math.round(least)} rpm`);
  return {
    fan_rpm: asked,
    speed: most > 0 ? asked / most : 1,
    uncertainty: 0,
    sound_dBA: null,
    notes,
  };
}

/** A note on a cooler as a line of its own: it begins with the cooler's name. @example noteOn('Heron', 'not metered') // 'Heron: not metered' */
export function noteOn(cooler: string, note: string): string {
  return note.startsWith(`${cooler} `) ? note : `${cooler}: ${note}`;
}
