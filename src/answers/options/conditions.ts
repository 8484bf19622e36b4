import type { Bench } from '../../bench/bench.ts';
import { BenchError } from '../../bench/bench-error.ts';
import { didYouMean } from '../../bench/nearest-name.ts';
import { knownSource } from '../../bench/source.ts';
import { isMargin } from '../../compare/same-within.ts';
import type { Conditions } from '../../predict/conditions.ts';
import { plain } from '../text/wording.ts';
import type { GivenOptions, OptionTable } from './command.ts';
import { number, parseLoads } from './parse-loads.ts';

/** The options that state the conditions of an answer, the same for every command that takes them. */
export const conditionOptions = {
  power: { value: 'W', describe: 'loads: 150,250 or from:to:step, ends included: 50:350:10' },
  'fan-rpm': { value: 'RPM', describe: 'fan speed, the same for every cooler' },
  fan: { value: 'PERCENT', describe: 'fan speed as a share of the greatest one, 60% (default 100%)' },
  sound: { value: 'DBA', describe: 'at equal sound: the metered level, background included' },
  'pump-rpm': { value: 'RPM', describe: 'pump speed of liquid coolers (default: the greatest run)' },
  pump: { value: 'PERCENT', describe: 'pump speed as a share of the greatest one, 60%' },
  source: { value: 'NAME', describe: 'what makes the heat: heater (default) or a chip of the bench' },
  cooler: { value: 'NAMES', describe: 'only these coolers: A,B; a name with a comma in double quotes' },
  ambient: { value: 'C', describe: 'temperature of the room, °C (default: that of the bench)' },
  altitude: { value: 'M', describe: 'altitude of the room, m (default: the air of the bench)' },
  pressure: { value: 'HPA', describe: 'air pressure of the room, hPa, in place of --altitude' },
  'inlet-rise': { value: 'K', describe: 'how much warmer than the room the inlet air is' },
  recirculation: { value: 'PERCENT', describe: 'share of exhaust in the inlet air, 20%' },
  orientation: { value: 'NAME', describe: 'as the runs name it (default: the one with most runs)' },
  level: { value: 'SHARE', describe: 'confidence of every interval, 0.5 to 1 (default 0.95)' },
  seed: { value: 'N', describe: 'start of the random numbers, a whole number (default 1)' },
  without: {
    value: 'NAMES',
    describe: 'leave out runs, by id, or mounts as cooler/sample/mount: r014,"A, black"/1/2',
  },
} satisfies OptionTable;

/** Of the answers that hold a true mean. */
export const meanOptions: OptionTable = {
  budget: { describe: 'where the variance of each interval comes from, and what would halve each part' },
  paste: {
    value: 'NAME',
    describe: 'paste that the mean is for: bench (default), the batches used here; any, a new batch',
  },
};

/** The least difference that matters. */
export const marginOption: OptionTable = {
  margin: {
    value: 'K',
    describe: 'differences up to this do not matter; coolers shown to be within it count as equal',
  },
};

/** A fault of use: it begins with the option. */
export function fault(option: string, what: string): BenchError {
  return new BenchError(`--${option}`, 0, 0, what);
}

/**
 * Names of `--cooler`; double quotes hold a comma, and are doubled inside. Of `--without` a part of a name may stand in quotes, which
 * the name then keeps.
 *
 * @example parseNames('A,"B, black"') // ['A', 'B, black']
 */
export function parseNames(text: string, option = 'cooler'): string[] {
  const names: string[] = [];
  // No two parts of it can take the same characters: a long line costs no more than its length.
  const pattern = /((?:"[^"]*"|[^",])*)(,|$)/y;
  for (;;) {
    const match = pattern.exec(text);
    const whole = match && /^"((?:[^"]|"")*)"$/.exec(match[1].trim())?.[1].replaceAll('""', '"').trim();
    const name = whole ?? match?.[1].trim();
    if (
      match === null ||
      name === undefined ||
      (whole === undefined && option === 'cooler' && name.includes('"'))
    ) {
      const what = 'a double quote is not closed or does not stand around a whole name';
      throw fault(option, `${what}; give A,B or "A, black",B`);
    }
    if (name === '') throw fault(option, 'a name is missing; give names such as A,B');
    names.push(name);
    if (match[2] === '') return names;
  }
}

/** A number within a range. */
export function ranged(option: string, text: string, low: number, high: number, accepted: string): number {
  const value = number(text);
  if (value === undefined) throw fault(option, `"${text}" is not a number; give ${accepted}`);
  if (value < low || value > high) throw fault(option, `${text} is out of range; give ${accepted}`);
  return value;
}

/**
 * The number that an option gives in plain digits, `undefined` where it is not given.
 *
 * @param wanted  what it should be and what would be accepted, as in 'time; give hours, such as 8'
 */
export function numberGiven(
  given: GivenOptions,
  name: string,
  wanted: string,
  isAccepted: (value: number) => boolean,
): number | undefined {
  const text = given[name];
  if (text === undefined) return undefined;
  const value = typeof text === 'string' && /^-?(\d+\.?\d*|\.\d+)$/.test(text) ? Number(text) : Number.NaN;
  if (isAccepted(value)) return value;
  throw fault(name, `"${text}" is not a ${wanted}`);
}

/** `--ambient`, °C. */
export function room(text: string): number {
  return ranged('ambient', text, -60, 80, 'a temperature from -60 to 80 °C such as 22');
}

/** `--level`: strictly between 0.5 and 1. */
function level(text: string): number {
  const value = number(text);
  if (value === undefined || !(value > 0.5 && value < 1)) {
    throw fault('level', `"${text}" is not a confidence level; give a number between 0.5 and 1 such as 0.95`);
  }
  return value;
}

/** `--seed`: a whole number that fits 32 bits. */
export function parseSeed(text: string): number {
  const value = /^\d+$/.test(text) ? Number(text) : Number.NaN;
  if (!(value <= 0xffffffff)) {
    throw fault('seed', `"${text}" is not a seed; give a whole number from 0 to 4294967295`);
  }
  return value;
}

function speedShare(option: 'fan' | 'pump', text: string): number {
  const digits = text.endsWith('%') ? text.slice(0, -1).trim() : text;
  const value = number(digits);
  if (value === undefined || value <= 0 || value > 100) {
    throw fault(
      option,
      `"${text}" is not a share of the greatest speed; give a percentage above 0% and up to 100% such as 60%`,
    );
  }
  if (value < 1 && !text.endsWith('%')) {
    throw fault(
      option,
      `"${text}" would be ${value} % of the greatest speed; give ${plain(100 * value)}%, or ${text}% if that is meant`,
    );
  }
  return value;
}

/**
 * The conditions that the options state. What depends on the bench, names above all, is checked against it.
 *
 * @throws BenchError naming the option, the column in its value, and what would be accepted
 */
export function readConditions(given: GivenOptions, bench: Bench): Conditions {
  const text = (name: string): string | undefined => {
    const value = given[name];
    return typeof value === 'string' ? value : undefined;
  };
  const speeds = ['fan-rpm', 'fan', 'sound'].filter((name) => given[name] !== undefined);
  if (speeds.length > 1) {
    throw fault(speeds[1], `--${speeds[0]} is given too; give one of --fan-rpm, --fan and --sound`);
  }
  if (given['pump-rpm'] !== undefined && given.pump !== undefined) {
    throw fault('pump', '--pump-rpm is given too; give one of --pump-rpm and --pump');
  }
  const conditions: Conditions = {};
  const read = <K extends keyof Conditions>(
    option: string,
    key: K,
    parse: (value: string) => Conditions[K],
  ): void => {
    const value = text(option);
    if (value !== undefined) conditions[key] = parse(value);
  };
  read('power', 'power_W', parseLoads);
  read('fan-rpm', 'fan_rpm', (v) => ranged('fan-rpm', v, 1, 1e5, 'a speed from 1 to 100000 rpm'));
  read('fan', 'fan_percent', (v) => speedShare('fan', v));
  read('pump-rpm', 'pump_rpm', (v) => ranged('pump-rpm', v, 1, 1e5, 'a speed from 1 to 100000 rpm'));
  read('pump', 'pump_percent', (v) => speedShare('pump', v));
  read('sound', 'sound_dBA', (v) => ranged('sound', v, 0, 140, 'a level from 0 to 140 dBA such as 35'));
  read('source', 'source', (v) => knownSource(bench, v));
  read('cooler', 'coolers', (v) => knownCoolers(v, bench));
  read('ambient', 'ambient_C', room);
  read('altitude', 'altitude_m', (v) => ranged('altitude', v, -500, 9000, 'an altitude from -500 to 9000 m'));
  read('pressure', 'pressure_hPa', (v) =>
    ranged('pressure', v, 300, 1200, 'a pressure from 300 to 1200 hPa'),
  );
  read('inlet-rise', 'inlet_rise_K', (v) => ranged('inlet-rise', v, 0, 60, 'a rise from 0 to 60 K'));
  read('recirculation', 'recirculation_percent', (v) =>
    ranged('recirculation', v.replace(/\s*%$/, ''), 0, 90, 'a share from 0% to 90% such as 20%'),
  );
  read('orientation', 'orientation', (v) => v);
  read('level', 'level', level);
  read('seed', 'seed', parseSeed);
  read('without', 'without', (v) => parseNames(v, 'without'));
  return conditions;
}

/** What {@link marginOption} says. */
export function readMargin(options: GivenOptions): { margin_K?: number } {
  const wanted = 'margin; give K above 0, such as 1';
  const margin_K = numberGiven(options, 'margin', wanted, isMargin);
  return margin_K === undefined ? {} : { margin_K };
}

/** What {@link meanOptions} say. */
export function readMean({ budget, paste }: GivenOptions): { budget: boolean } & Pick<Conditions, 'paste'> {
  if (paste !== undefined && paste !== 'bench' && paste !== 'any') {
    throw fault(
      'paste',
      `"${paste}" is not one of the choices; give bench, for the batches of this bench, or any`,
    );
  }
  return { budget: budget === true, ...(paste !== undefined && { paste }) };
}

function knownCoolers(text: string, bench: Bench): string[] {
  const known = new Set(bench.coolers.map((cooler) => cooler.cooler));
  const names: string[] = [];
  for (const name of parseNames(text)) {
    if (!known.has(name)) {
      const list = [...known];
      const accepted =
        list.length > 12 ? `${list.slice(0, 12).join(', ')} or ${list.length - 12} others` : list.join(', ');
      throw fault(
        'cooler',
        `no cooler "${name}" on this bench${didYouMean(name, known)}; give some of ${accepted}`,
      );
    }
    if (names.includes(name)) throw fault('cooler', `"${name}" is given twice; give each cooler once`);
    names.push(name);
  }
  return names;
}
