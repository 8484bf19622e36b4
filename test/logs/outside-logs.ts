/**
 * Logs of benches unlike the one the reduction was written on, of known truth, for tests and benchmarks.
 *
 * Written apart from `make-logs.ts`, so that method and study share as little as can be: the response is in closed form, noise and air are
 * sequences at one second, and the way of the air to the source is a lag that need not be one of the cooler's own.
 */
import { normalFrom, seeded } from './make-logs.ts';

export interface OutsideRecipe {
  /** Noise of the source: white from row to row, and a part that forgets in `memory_s`. */
  white_K: number;
  slow_K: number;
  memory_s: number;
  /** A random walk of the source, K per root of an hour. */
  walk_K?: number;
  /** Time constant of a filter in the sensor, s. */
  filter_s?: number;
  /** Air: standard deviation, and either the time in which it forgets or the period of a sine. */
  sway_K: number;
  sway_s: number;
  periodic?: boolean;
  /** At once, through the slowest element, by shares of the elements, through a ladder, or a lag of its own in s. */
  law: 'at-once' | 'slowest' | 'shares' | 'ladder' | number;
  ambientNoise_K?: number;
  rounding_K?: number;
  ambientRounding_K?: number;
  interval_s?: number;
  /** Share by which the load falls over the log. */
  loadFall?: number;
}

export interface OutsideCooler {
  power_W: number;
  /** Rises of the elements at that load and their time constants. */
  rises_K: number[];
  times_s: number[];
}

export interface OutsideLog {
  name: string;
  csv: string;
  seconds: number;
  rise_K: number;
  /** The same log's true rise at each of its rows is not needed; what it lacks at the end is. */
  short_K: number;
}

const between = (uniform: () => number, low: number, high: number) => low + (high - low) * uniform();
const spread = (uniform: () => number, low: number, high: number) => low * (high / low) ** uniform();

/** An air cooler of two constants, three at times, a heavy one slower; a liquid one of three, or of four whose slowest is 600 to 1500 s or `slow`. */
export function outsideCooler(
  uniform: () => number,
  kind: 'air' | 'heavy' | 'liquid' | 'liquid-four',
  slow: readonly [number, number] = [600, 1500],
): OutsideCooler {
  const power_W = between(uniform, 80, 280);
  if (kind === 'air' || kind === 'heavy') {
    const rises_K = [power_W * between(uniform, 0.05, 0.12), power_W * between(uniform, 0.08, 0.2)];
    const times_s = [
      spread(uniform, 5, 20),
      kind === 'air' ? spread(uniform, 60, 200) : spread(uniform, 150, 350),
    ];
    if (uniform() < 0.4) {
      rises_K.splice(1, 0, power_W * between(uniform, 0.01, 0.05));
      times_s.splice(1, 0, spread(uniform, 25, 50));
    }
    return { power_W, rises_K, times_s };
  }
  const rises_K = [power_W * between(uniform, 0.03, 0.08), power_W * between(uniform, 0.02, 0.06)];
  const times_s = [spread(uniform, 4, 15), spread(uniform, 40, 120)];
  const slowPart = power_W * between(uniform, 0.04, 0.1);
  const slowest = kind === 'liquid' ? spread(uniform, 250, 600) : spread(uniform, slow[0], slow[1]);
  if (kind === 'liquid') return { power_W, rises_K: [...rises_K, slowPart], times_s: [...times_s, slowest] };
  return {
    power_W,
    rises_K: [...rises_K, 0.3 * slowPart, 0.7 * slowPart],
    times_s: [...times_s, 0.35 * slowest, slowest],
  };
}

/** One log of a cooler. */
export function outsideLog(
  name: string,
  cooler: OutsideCooler,
  seconds: number,
  recipe: OutsideRecipe,
  seed: number,
): OutsideLog {
  const uniform = seeded(seed);
  const normal = normalFrom(uniform);
  const { power_W, rises_K, times_s } = cooler;
  const total = rises_K.reduce((a, b) => a + b, 0);
  const before = 4000;
  const air = airOf(recipe, before + seconds, normal, uniform);
  const felt = feltAir(air, recipe.law, rises_K, times_s);
  const rho = Math.exp(-1 / recipe.memory_s);
  const walkStep = (recipe.walk_K ?? 0) / 60;
  const every = recipe.interval_s ?? 1;
  let slow = recipe.slow_K * normal();
  let walk = 0;
  let filtered = Number.NaN;
  const round = (value: number, step: number) => Math.round(value / step) * step;
  const lines = ['time_s,source_C,ambient_C,power_W,fan_rpm'];
  // With a falling load each element follows it exactly, as it is a straight line.
  const fall = (recipe.loadFall ?? 0) / seconds;
  for (let t = 0; t < seconds; t++) {
    let rise = 0;
    for (let i = 0; i < rises_K.length; i++) {
      const e = Math.exp(-t / times_s[i]);
      rise += rises_K[i] * (1 - e - fall * (t - times_s[i] * (1 - e)));
    }
    const value = 22 + felt[before + t] + rise + slow + walk + recipe.white_K * normal();
    const share = recipe.filter_s ? 1 - Math.exp(-1 / recipe.filter_s) : 1;
    filtered = Number.isNaN(filtered) ? value : filtered + share * (value - filtered);
    if (t % every === 0) {
      const ambient = 22 + air[before + t] + (recipe.ambientNoise_K ?? 0.02) * normal();
      const watts = power_W * (1 - fall * t) + 0.05 * normal();
      lines.push(
        `${t},${round(filtered, recipe.rounding_K ?? 0.01).toFixed(2)},${round(ambient, recipe.ambientRounding_K ?? 0.01).toFixed(2)},${watts.toFixed(2)},${(1200 + 4 * normal()).toFixed(0)}`,
      );
    }
    slow = rho * slow + recipe.slow_K * Math.sqrt(1 - rho * rho) * normal();
    walk += walkStep * normal();
  }
  const short_K = rises_K.reduce((sum, a, i) => sum + a * Math.exp(-seconds / times_s[i]), 0);
  return { name, csv: `${lines.join('\n')}\n`, seconds, rise_K: total, short_K };
}

function airOf(recipe: OutsideRecipe, rows: number, normal: () => number, uniform: () => number) {
  const { sway_K, sway_s, periodic } = recipe;
  const phase = 2 * Math.PI * uniform();
  const out = new Float64Array(rows);
  // Smoothed twice, as a room is; the factor keeps its standard deviation.
  const memory = sway_s / 4;
  const rho = Math.exp(-1 / memory);
  let a = 0;
  let b = 0;
  for (let t = 0; t < rows; t++) {
    if (periodic) out[t] = Math.SQRT2 * sway_K * Math.sin((2 * Math.PI * t) / sway_s + phase);
    else {
      a = rho * a + Math.sqrt(1 - rho * rho) * normal();
      b = rho * b + (1 - rho) * a;
      out[t] = sway_K * Math.SQRT2 * b;
    }
  }
  return out;
}

function feltAir(air: Float64Array, law: OutsideRecipe['law'], rises_K: number[], times_s: number[]) {
  const through = (input: Float64Array, tau: number) => {
    const out = new Float64Array(input.length);
    const keep = Math.exp(-1 / tau);
    let value = input[0];
    for (let t = 0; t < input.length; t++) {
      value = keep * value + (1 - keep) * input[t];
      out[t] = value;
    }
    return out;
  };
  if (law === 'at-once') return air;
  if (typeof law === 'number') return through(air, law);
  if (law === 'slowest') return through(air, times_s[times_s.length - 1]);
  if (law === 'ladder') return times_s.reduce((input, tau) => through(input, tau), air);
  const total = rises_K.reduce((a, b) => a + b, 0);
  const out = new Float64Array(air.length);
  times_s.forEach((tau, i) => {
    const part = through(air, tau);
    for (let t = 0; t < out.length; t++) out[t] += (part[t] * rises_K[i]) / total;
  });
  return out;
}

/** The noise and the room on which short logs failed: long-run variance 0.64 K²s, a room that the source follows at once. */
export const outsideBench: OutsideRecipe = {
  white_K: 0.02,
  slow_K: 0.04,
  memory_s: 200,
  sway_K: 0.15,
  sway_s: 900,
  law: 'at-once',
};
