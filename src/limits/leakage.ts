/**
 * A chip whose leakage grows with its own temperature: where it settles, or that it does not.
 *
 * Leakage adds heat, heat adds temperature, temperature adds leakage. With P_leak(T) = P0·exp((T − T0)/Ts) and a cooler
 * of rise(P), the balance is T = ambient + rise(P_fixed + P_leak(T)). Cool chips settle at the lower of two crossings;
 * as load or resistance grow the two meet and vanish: thermal runaway. They meet where the loop gain, R·dP_leak/dT,
 * is 1. Below that the gain says how much the loop amplifies: a kelvin from elsewhere becomes 1/(1 − gain).
 *
 * For a constant resistance the answer is closed: T = A − Ts·W(−x), x = (R·P0/Ts)·exp((A − T0)/Ts), A = ambient + R·P_fixed,
 * with Lambert's W, and there is none beyond x = 1/e.
 */
export interface Leakage {
  /** Leakage at `at_C`, W. */
  power_W: number;
  at_C: number;
  /** Temperature step that multiplies leakage by e, K. Common practice, no source: 30 to 60. */
  e_fold_K: number;
}

export interface Settled {
  runaway: boolean;
  /** Null in runaway. */
  source_C: number | null;
  leakage_W: number | null;
  total_W: number | null;
  /** R·dP/dT there; in runaway the loop gain where the climb could no longer be stopped, ≥ 1. */
  gain: number;
  /** Loop steps or Newton steps done. */
  steps: number;
  sentence: string;
}

export interface LoopQuestion {
  /** Rise of the source at a load, K; grows with load and does not bend down faster than leakage bends up. */
  rise: (power_W: number) => number;
  ambient_C: number;
  /** Heat that does not depend on temperature, W. */
  fixed_W: number;
  leakage: Leakage;
}

export function leakageAt(leakage: Leakage, source_C: number): number {
  return leakage.power_W * Math.exp((source_C - leakage.at_C) / leakage.e_fold_K);
}

/**
 * Where the loop settles, by Newton's method from below.
 *
 * The difference temperature − balance is concave, so that each tangent meets zero short of the crossing: the steps
 * climb to it and never jump over it. If the slope has turned down (loop gain 1) before the crossing, there is none.
 *
 * @throws RangeError on figures that are no leakage
 * @example
 * settle({ rise: (p) => 0.25 * p, ambient_C: 22, fixed_W: 150, leakage: { power_W: 20, at_C: 60, e_fold_K: 40 } })
 * // { runaway: false, source_C: 65.2, gain: 0.14, … }
 */
export function settle(question: LoopQuestion): Settled {
  check(question);
  const { rise, ambient_C, fixed_W, leakage } = question;
  let source = ambient_C + rise(fixed_W);
  for (let step = 1; step <= 200; step += 1) {
    const leak = leakageAt(leakage, source);
    const short = ambient_C + rise(fixed_W + leak) - source;
    const gain = loopGain(question, source);
    if (Math.abs(short) <= 1e-10 * (1 + Math.abs(source)) && gain < 1) return steady(question, source, step);
    if (gain >= 1) return runaway(gain, step);
    source += short / (1 - gain);
    if (source > 1e4) return runaway(gain, step);
  }
  return runaway(loopGain(question, source), 200);
}

/**
 * The same by letting the loop run as it would: temperature → leakage → temperature, from a cold start.
 *
 * Slow next to the limit, where it creeps past the place at which the crossings vanished, but it assumes nothing about
 * the curves: the second opinion on {@link settle}.
 *
 * @param hopeless_C  temperature at which a climb is called runaway, default 400
 */
export function runLoop(question: LoopQuestion, hopeless_C = 400, maxSteps = 100_000): Settled {
  check(question);
  const { rise, ambient_C, fixed_W, leakage } = question;
  let source = ambient_C + rise(fixed_W);
  for (let step = 1; step <= maxSteps; step += 1) {
    const next = ambient_C + rise(fixed_W + leakageAt(leakage, source));
    if (!(next < hopeless_C)) return runaway(Math.max(1, loopGain(question, source)), step);
    if (Math.abs(next - source) < 1e-11 * (1 + Math.abs(next))) return steady(question, next, step);
    source = next;
  }
  const gain = loopGain(question, source);
  return gain < 1 ? steady(question, source, maxSteps) : runaway(gain, maxSteps);
}

/** Resistance at the load there times the slope of leakage: 1 and above, it runs away. */
export function loopGain({ rise, fixed_W, leakage }: LoopQuestion, source_C: number): number {
  const leak = leakageAt(leakage, source_C);
  const load = fixed_W + leak;
  const step = 1e-4 * Math.max(1, load);
  const resistance =
    (rise(load + step) - rise(Math.max(0, load - step))) / (load + step - Math.max(0, load - step));
  return (resistance * leak) / leakage.e_fold_K;
}

function steady(question: LoopQuestion, source_C: number, steps: number): Settled {
  const leak = leakageAt(question.leakage, source_C);
  const gain = loopGain(question, source_C);
  return {
    runaway: false,
    source_C,
    leakage_W: leak,
    total_W: question.fixed_W + leak,
    gain,
    steps,
    sentence: `Settles at ${source_C.toFixed(1)} °C with ${leak.toFixed(1)} W of leakage; a kelvin from elsewhere becomes ${(1 / (1 - gain)).toFixed(2)} K.`,
  };
}

function runaway(gain: number, steps: number): Settled {
  return {
    runaway: true,
    source_C: null,
    leakage_W: null,
    total_W: null,
    gain,
    steps,
    sentence:
      'Thermal runaway: leakage grows faster with temperature than the cooler can carry away; no steady state exists.',
  };
}

function check({ ambient_C, fixed_W, leakage }: LoopQuestion): void {
  if (!Number.isFinite(ambient_C))
    throw new RangeError(`ambient_C is ${ambient_C}; a finite number is accepted`);
  if (!(fixed_W >= 0)) throw new RangeError(`fixed_W is ${fixed_W}; 0 or more is accepted`);
  if (!(leakage.power_W >= 0))
    throw new RangeError(`power_W of the leakage is ${leakage.power_W}; 0 or more is accepted`);
  if (!(leakage.e_fold_K > 0))
    throw new RangeError(`e_fold_K is ${leakage.e_fold_K}; a number above 0 is accepted`);
}
