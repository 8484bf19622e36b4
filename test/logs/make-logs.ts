/**
 * Synthetic logs with known truth, for tests and benchmarks.
 *
 * The source follows a pure ladder seen from the source: `rise = P · Σ Rᵢ (1 − exp(−t/τᵢ))`, and follows ambient
 * through the same ladder, whose transfer from the air to the source is the product of `1/(1 + s τᵢ)`. On top:
 * first-order autoregressive reading noise, a wandering ambient, and rounding.
 */

/** Seeded uniform generator (mulberry32, public domain algorithm). */
export function seeded(seed: number): () => number {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

export function normalFrom(uniform: () => number): () => number {
  return () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
}

export interface LogRecipe {
  /** Loads and how long each is held. */
  loads: { power_W: number; fan_rpm?: number; seconds: number }[];
  /** Foster elements from source to air. */
  elements: { resistance_K_per_W: number; time_s: number }[];
  interval_s: number;
  noise_K: number;
  /** Correlation between rows one second apart. */
  correlation: number;
  ambient_C: number;
  /** Standard deviation of the ambient's wandering and its correlation time. */
  wander_K: number;
  wander_s: number;
  ambientNoise_K: number;
  powerNoise_W: number;
  /** 0: as computed. */
  rounding_K: number;
  ambientRounding_K: number;
  /** Stretches left out, s from the start. */
  gaps?: [number, number][];
  idle_s?: number;
  /** How the source follows the air: through all elements in a row (a ladder; default), through the slowest alone, as
   * the sum of elements weighted by their resistance, or at once. */
  follow?: 'ladder' | 'slowest' | 'shares' | 'at-once';
  /** Slow sine of the load, share of the load and period, s. */
  loadSwing?: { share: number; period_s: number };
}

export interface MadeLog {
  csv: string;
  /** Asymptote of each load, K. */
  rise_K: number[];
  /** What the rise still lacks at the end of each load, noise and ambient apart, K. */
  short_K: number[];
  elements: LogRecipe['elements'];
}

export function makeLog(recipe: LogRecipe, uniform: () => number, keep = 1): MadeLog {
  const normal = normalFrom(uniform);
  const { elements } = recipe;
  const state = elements.map(() => 0);
  const loads = recipe.idle_s ? [{ power_W: 0, seconds: recipe.idle_s }, ...recipe.loads] : recipe.loads;
  const substeps = Math.max(1, Math.round(recipe.interval_s / 0.5));
  const h = recipe.interval_s / substeps;
  const rho = Math.exp(-h / recipe.wander_s);
  let wander = recipe.wander_K * normal();
  // Smoothed twice so that the air changes without kinks, as a room does.
  let air = wander;
  const lag = elements.map(() => air);
  let noise = recipe.noise_K * normal();
  const phi = recipe.correlation ** recipe.interval_s;
  const lines = ['time_s,source_C,ambient_C,power_W,fan_rpm'];
  const round = (value: number, step: number) => (step > 0 ? Math.round(value / step) * step : value);
  const digits = (step: number) => (step >= 0.1 ? 1 : step >= 0.01 ? 2 : step > 0 ? 3 : 4);
  const resistance = elements.reduce((sum, e) => sum + e.resistance_K_per_W, 0);
  const how = recipe.follow ?? 'ladder';
  const followAir = () => {
    let input = air;
    for (let e = 0; e < elements.length; e++) {
      const from = how === 'ladder' ? input : air;
      lag[e] += (from - lag[e]) * (1 - Math.exp(-h / elements[e].time_s));
      input = lag[e];
    }
  };
  const followed = () => {
    if (how === 'at-once' || lag.length === 0) return air;
    if (how === 'shares')
      return lag.reduce((sum, value, e) => sum + (value * elements[e].resistance_K_per_W) / resistance, 0);
    return lag[lag.length - 1];
  };
  // Before the first row the air has wandered for a long while.
  for (let i = 0; i < 4000; i++) {
    wander = rho * wander + recipe.wander_K * Math.sqrt(1 - rho * rho) * normal();
    air += (wander - air) * (1 - Math.exp(-h / (0.2 * recipe.wander_s)));
    followAir();
  }
  let t = 0;
  const swing = (time: number) =>
    recipe.loadSwing
      ? 1 + recipe.loadSwing.share * Math.sin((2 * Math.PI * time) / recipe.loadSwing.period_s)
      : 1;
  const rise_K: number[] = [];
  const short_K: number[] = [];
  for (const [index, load] of loads.entries()) {
    const seconds = index === loads.length - 1 ? load.seconds * keep : load.seconds;
    const rows = Math.round(seconds / recipe.interval_s);
    for (let r = 0; r < rows; r++) {
      const missing = recipe.gaps?.some(([from, to]) => t >= from && t < to);
      const follow = followed();
      const total = state.reduce((sum, s) => sum + s, 0);
      if (!missing) {
        const source = recipe.ambient_C + follow + total + noise;
        const ambient = recipe.ambient_C + air + recipe.ambientNoise_K * normal();
        lines.push(
          `${Number(t.toFixed(3))},${round(source, recipe.rounding_K).toFixed(digits(recipe.rounding_K))},` +
            `${round(ambient, recipe.ambientRounding_K).toFixed(digits(recipe.ambientRounding_K))},` +
            `${(load.power_W * swing(t) + recipe.powerNoise_W * normal()).toFixed(2)},${((load.fan_rpm ?? 1200) + 4 * normal()).toFixed(0)}`,
        );
      }
      noise = phi * noise + recipe.noise_K * Math.sqrt(1 - phi * phi) * normal();
      for (let s = 0; s < substeps; s++) {
        wander = rho * wander + recipe.wander_K * Math.sqrt(1 - rho * rho) * normal();
        air += (wander - air) * (1 - Math.exp(-h / (0.2 * recipe.wander_s)));
        followAir();
        for (let e = 0; e < elements.length; e++) {
          const { resistance_K_per_W, time_s } = elements[e];
          state[e] += (load.power_W * swing(t) * resistance_K_per_W - state[e]) * (1 - Math.exp(-h / time_s));
        }
      }
      t += recipe.interval_s;
    }
    if (load.power_W > 0) {
      const full = load.power_W * elements.reduce((sum, e) => sum + e.resistance_K_per_W, 0);
      rise_K.push(full);
      short_K.push(full - state.reduce((sum, s) => sum + s, 0));
    }
  }
  return { csv: `${lines.join('\n')}\n`, rise_K, short_K, elements };
}

/** A cooler and a bench drawn at random: air (base and sink) or liquid (plate, radiator, loop). */
export function randomRecipe(
  uniform: () => number,
  kind: 'air' | 'liquid' | 'any' = 'any',
  seconds = 1500,
): LogRecipe {
  const between = (low: number, high: number) => low + (high - low) * uniform();
  const logBetween = (low: number, high: number) => low * (high / low) ** uniform();
  const liquid = kind === 'any' ? uniform() < 0.35 : kind === 'liquid';
  const elements = liquid
    ? [
        { resistance_K_per_W: between(0.03, 0.08), time_s: logBetween(4, 15) },
        { resistance_K_per_W: between(0.02, 0.06), time_s: logBetween(40, 120) },
        { resistance_K_per_W: between(0.04, 0.1), time_s: logBetween(250, 600) },
      ]
    : [
        { resistance_K_per_W: between(0.05, 0.12), time_s: logBetween(5, 20) },
        { resistance_K_per_W: between(0.08, 0.2), time_s: logBetween(60, 200) },
      ];
  if (!liquid && uniform() < 0.4)
    elements.push({ resistance_K_per_W: between(0.01, 0.05), time_s: logBetween(25, 50) });
  elements.sort((a, b) => a.time_s - b.time_s);
  return {
    loads: [{ power_W: between(100, 300), seconds }],
    elements,
    interval_s: 1,
    noise_K: logBetween(0.02, 0.1),
    correlation: between(0, 0.9),
    ambient_C: between(21, 23),
    wander_K: between(0.05, 0.5),
    wander_s: logBetween(300, 1500),
    ambientNoise_K: between(0.005, 0.04),
    powerNoise_W: between(0.02, 0.2),
    rounding_K: uniform() < 0.5 ? 0.01 : 0.1,
    ambientRounding_K: uniform() < 0.5 ? 0.01 : 0.1,
    idle_s: uniform() < 0.5 ? 60 : 0,
    gaps:
      uniform() < 0.3 ? [[between(200, 900), 0]].map(([a]) => [a, a + 40] as [number, number]) : undefined,
  };
}
