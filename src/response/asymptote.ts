import { networkOf, type Readings } from '../logs/readings.ts';
import { tOverZ } from '../numerics/degrees-of-freedom.ts';
import { type AirLaw, AirSeen, airBy } from './air-laws.ts';
import {
  componentOf,
  type MixtureComponent,
  mixtureInterval,
  mixtureMean,
  probabilityWithin,
} from './asymptote-mixture.ts';
import { type ExponentialFit, type ExponentialMode, mostTerms } from './exponential-fit.ts';
import { Whitening } from './noise.ts';
import { type Joined, joined, lengthOf, meansOver, type Response } from './response.ts';

export interface AsymptoteOptions {
  /** Greatest time constant that a response is searched for, s. Default 6000. */
  readonly longest_s?: number;
  /** Length of the last window, s. Default 60. */
  readonly window_s?: number;
  /** Half-width that is wanted: a fit that cannot reach it is given up. */
  readonly enough_K?: number;
  /** Standard uncertainty that drift of load and fan leaves in the rise, as a share of it. */
  readonly drift?: number;
}

/** What a response tells of its end. */
export interface Asymptote {
  /** Steady rise above ambient, K. */
  readonly rise_K: number;
  /** Standard uncertainty: 95 % half-width over 1.96. */
  readonly u_K: number;
  /** Half-width of the 95 % interval, K. */
  readonly halfWidth_K: number;
  /** How far the mean of the last window is below the asymptote, K, and its standard uncertainty. */
  readonly short_K: number;
  readonly shortU_K: number;
  /** Rate at which the rise still changes at the end, K/min. */
  readonly rate_K_per_min: number;
  /** Of the best single description, ascending. */
  readonly timeConstants_s: readonly number[];
  /** `rise + Σ amplitude exp(−t/τ)`, t from the load step; negative on the way up. */
  readonly amplitudes_K: readonly number[];
  /** Probability of zero to five exponentials. */
  readonly termWeights: readonly number[];
  /** Probability that a time constant is longer than the log can tell, see {@link untold}. */
  readonly slowerStill: number;
  /** Law of the air that counts most here. */
  readonly law: AirLaw;
  /** Ambient as the source saw it, at the blocks of the response, °C. */
  ambientSeen(): Float64Array;
  /** Probability that the last window's mean is within so many K of the asymptote. */
  within(limit_K: number): number;
}

/** Belief in the number of exponentials before the data: a cooler has a base and an air side at least (an assumption). */
const termPrior = [0.05, 0.1, 0.4, 0.35];
/** A loop has a reservoir and a radiator besides: where the slowest of three constants is as long as these, a fourth, or a fifth, is as likely. */
const loopFrom_s = 350;
const loopCertain_s = 600;
const fourPrior = { withoutLoop: 0.1, withLoop: 1 };
const wellKnown = 0.09;
/** With one more, what is small at the best place may be large beside it: the curvature there says less. */
const wellKnownOfFour = 0.03;
const nodes = 9;
/** A description whose probability is less than e to minus this beside the best one's is left out. */
const negligible = 5;

/**
 * The asymptote of a step response, from zero to five exponentials over air that reaches the source by the bench's laws.
 *
 * Every number of exponentials contributes with its evidence (Laplace's approximation to the integral over its
 * parameters); where the slowest time constant is poorly known, its whole range is gone through and each value
 * contributes what remains likely there. One more exponential, slower than those that the log shows, is gone through wherever the log
 * cannot exclude it. All that is done with each noise, and moved to each law of the air, that the bench's logs allow. The interval
 * therefore holds the doubt about the slow end, about noise and about air, which is what matters in a log that stopped early.
 *
 * @param fit  working room, shared by fits one after the other
 * @returns `undefined` where the readings have none: fewer than eight blocks, no response at all, or one that is not known
 *   within `enough_K`
 */
export function asymptoteOf(
  fit: ExponentialFit,
  response: Response,
  readings: Readings,
  options: AsymptoteOptions = {},
): Asymptote | undefined {
  const blocks = joined(response, 0.23, 28);
  if (blocks.count < 8) return undefined;
  const study = new Study(fit, response, blocks, readings, options);
  return study.asymptote();
}

class Study {
  private readonly length: number;
  private readonly source: Float64Array;
  private readonly window: { from: number; to: number };
  private readonly longest: number;
  private readonly fit: ExponentialFit;
  private readonly response: Response;
  private readonly blocks: Joined;
  private readonly readings: Readings;
  private readonly drift: number | undefined;
  private readonly enough: number | undefined;
  /** The slowest of two or three constants that describe the response, s. */
  private slowest_s = 1;

  constructor(
    fit: ExponentialFit,
    response: Response,
    blocks: Joined,
    readings: Readings,
    options: AsymptoteOptions,
  ) {
    this.fit = fit;
    this.response = response;
    this.blocks = blocks;
    this.readings = readings;
    this.length = lengthOf(response);
    this.source = meansOver(blocks, response.rows, response.source_C);
    this.window = {
      from: Math.max(0.75 * this.length, this.length - (options.window_s ?? 60)),
      to: this.length,
    };
    this.longest = options.longest_s ?? 6000;
    this.drift = options.drift;
    this.enough = options.enough_K;
  }

  asymptote(): Asymptote | undefined {
    const { fit, blocks, readings, length, response, source } = this;
    const main = new Whitening(blocks, readings.noises[0].noise);
    fit.load(blocks, main, source, new AirSeen(readings.laws[0].law, response, blocks), 1, this.longest);
    const modes = this.modesFrom(fit.starts(Math.min(2 * length, this.longest)));
    if (this.isBeyondHope(modes)) return undefined;
    const { all, best } = this.underEveryNoise(main, modes);
    if (!best?.mode) return undefined;
    fit.reweigh(best.white);
    this.underOtherLaws(all, best.mode);
    const mean = mixtureMean(all);
    const extra = ((this.drift ?? 0) * mean.rise) ** 2 + response.rounding;
    const { centre, halfWidth: half } = mixtureInterval(all, mean.rise, extra);
    const halfWidth = half * tOverZ(best.freedom);
    if (!Number.isFinite(centre) || !Number.isFinite(halfWidth)) return undefined;
    return {
      rise_K: centre,
      u_K: halfWidth / 1.959964,
      halfWidth_K: halfWidth,
      short_K: mean.short,
      shortU_K: mean.shortU,
      ...this.inWhole(all, best.component),
      within: (limit_K) => probabilityWithin(all, limit_K),
    };
  }

  /**
   * Every description under every noise that the readings leave likely, with its weight, and the likeliest of all.
   *
   * @param main  whitening of the first noise, for which `modes` have been found
   */
  private underEveryNoise(main: Whitening, first: readonly (ExponentialMode | undefined)[]) {
    const all: MixtureComponent[] = [];
    let modes = first;
    let best:
      | { component: MixtureComponent; mode: ExponentialMode | undefined; white: Whitening; freedom: number }
      | undefined;
    for (const [i, { noise, weight }] of this.readings.noises.entries()) {
      const white = i === 0 ? main : new Whitening(this.blocks, noise);
      if (i > 0) {
        this.fit.reweigh(white);
        modes = this.modesFrom(modes.map((mode) => mode?.logTaus.slice()).slice(1, 4));
      }
      const { scale, freedom } = this.scaleOf(modes);
      const found = this.descriptions(modes, scale);
      const top = likeliestOf(found);
      if (!top) continue;
      // What this log tells of the noise has been heard already: every noise keeps its probability.
      const before = top.logWeight;
      let sum = 0;
      for (const one of found) sum += Math.exp(one.logWeight - before);
      for (const one of found) one.logWeight += Math.log(weight / sum) - before;
      all.push(...found);
      if (best && top.logWeight <= best.component.logWeight) continue;
      const terms = top.taus.length;
      const mode =
        modes.find((one) => one?.terms === terms) ?? modes.findLast((one) => one && one.terms <= 3);
      best = { component: top, mode, white, freedom };
    }
    return { all, best };
  }

  /** What the mixture as a whole tells of the response: the likeliest constants, the rate at the end, and how many terms it has. */
  private inWhole(all: readonly MixtureComponent[], { taus, amplitudes }: MixtureComponent) {
    const { response, length } = this;
    const [{ law }] = this.readings.laws;
    let rate = 0;
    for (let i = 0; i < taus.length; i++)
      rate += (-60 * amplitudes[i] * Math.exp(-length / taus[i])) / taus[i];
    const termWeights: number[] = new Array(mostTerms + 1).fill(0);
    let slowerStill = 0;
    for (const { taus: own, weight } of all) {
      termWeights[own.length] += weight;
      if (own.length > 0 && own[own.length - 1] > length) slowerStill += weight;
    }
    return {
      rate_K_per_min: rate,
      timeConstants_s: taus,
      amplitudes_K: amplitudes,
      termWeights,
      slowerStill,
      law,
      ambientSeen: () => {
        const out = new Float64Array(response.count);
        airBy(law, response, response.air_C, { terms: taus.length, taus, amplitudes }, out, out.slice());
        return out;
      },
    };
  }

  /** The best description alone leaves more doubt than is wanted, and the others only add to it. */
  private isBeyondHope(modes: readonly (ExponentialMode | undefined)[]): boolean {
    if (this.enough === undefined) return false;
    const { scale } = this.scaleOf(modes);
    const best = likeliestOf(modes.map((mode) => mode && this.describe(mode, scale, 0)));
    return best !== undefined && 1.96 * Math.sqrt(best.variance) > this.enough;
  }

  /**
   * Log prior chance of so many exponentials; a fourth becomes likely as the slowest constant grows to that
   * of a liquid loop.
   */
  private logPrior(terms: number): number {
    if (terms < termPrior.length) return Math.log(termPrior[terms]);
    const share = Math.log(this.slowest_s / loopFrom_s) / Math.log(loopCertain_s / loopFrom_s);
    const { withoutLoop, withLoop } = fourPrior;
    return Math.log(withoutLoop) + Math.min(1, Math.max(0, share)) * Math.log(withLoop / withoutLoop);
  }

  /** One optimum as a description with its weight; see {@link componentOf}. */
  private describe(mode: ExponentialMode, scale: number, spacing: number): MixtureComponent {
    const { from, to } = this.window;
    const logPrior = this.logPrior(mode.terms) + logPriorOfSigns(mode, this.length / 4);
    return componentOf(mode, scale, this.fit, spacing, logPrior, from, to);
  }

  /** The optimum with none to three exponentials, by their number. */
  private modesFrom(starts: readonly (Float64Array | undefined)[]): (ExponentialMode | undefined)[] {
    const { fit } = this;
    const from = (terms: number, iterations: number) => {
      const start = starts[terms - 1];
      return start && fit.refine(start.slice(), terms, 0, iterations, 0.02);
    };
    const two = from(2, 40);
    const three = fit.n > 14 ? from(3, 60) : undefined;
    const four = three && fit.n > 20 ? this.withinThree(three) : undefined;
    const isPlain =
      !(two ?? three) ||
      (two && Math.abs(two.amplitudes_K[0]) < 12 * Math.sqrt(two.covariance[two.size + 1]));
    return isPlain
      ? [fit.refine(new Float64Array(0), 0, 0, 0), from(1, 30), two, three, four]
      : [undefined, undefined, two, three, four];
  }

  /** Four exponentials, the further one faster than the slowest of three: a sensor with a lag, or one more element, may bring it. */
  private withinThree({ logTaus, chiSquare }: ExponentialMode): ExponentialMode | undefined {
    const { fit } = this;
    const [a, b, c] = logTaus;
    const typical = Math.max(1, chiSquare / (fit.n - 7));
    let best: { logTau: number; left: number } | undefined;
    for (const logTau of [a - 0.7, 0.5 * (a + b), 0.5 * (b + c)]) {
      if (logTau < fit.low || logTaus.some((other) => Math.abs(other - logTau) < 0.25)) continue;
      const left = fit.leftWith(logTaus, logTau);
      if (left < chiSquare - typical && !(best && best.left <= left)) best = { logTau, left };
    }
    if (!best) return undefined;
    const four = fit.refine(Float64Array.of(...logTaus, best.logTau).sort(), 4, 0, 40);
    return four && four.chiSquare < chiSquare - 4 * typical ? four : undefined;
  }

  /** Size of this log's noise over what the bench lets one expect, from both, and with how many degrees of freedom it is known. */
  private scaleOf(modes: readonly (ExponentialMode | undefined)[]): { scale: number; freedom: number } {
    const n = this.blocks.count;
    const { freedom } = this.readings;
    let least = Infinity;
    let own = 1;
    for (const mode of modes) {
      const left = mode ? n - 2 * mode.terms - 1 : 0;
      if (!mode || left < 4 || mode.chiSquare / left > least) continue;
      least = mode.chiSquare / left;
      own = left;
    }
    if (!Number.isFinite(least)) return { scale: 1, freedom };
    return { scale: (freedom + own * least) / (freedom + own), freedom: freedom + own };
  }

  /** Every description that the response allows under one noise. */
  private descriptions(modes: readonly (ExponentialMode | undefined)[], scale: number): MixtureComponent[] {
    const { fit } = this;
    const describe = (mode: ExponentialMode, spacing: number) => this.describe(mode, scale, spacing);
    const single = modes.map((mode) => mode && describe(mode, 0));
    this.slowest_s = likeliestOf(single)?.taus.at(-1) ?? 1;
    const top = likeliestOf(single)?.logWeight ?? -Infinity;
    const found: MixtureComponent[] = [];
    for (let m = 0; m < modes.length; m++) {
      const mode = modes[m];
      const alone = single[m];
      if (!mode || !alone || alone.logWeight < top - 9) continue;
      const { terms, size, logTaus } = mode;
      const doubt = terms > 0 ? Math.sqrt(scale * mode.covariance[size * size - 1]) : 0;
      if (terms === 0 || doubt < wellKnown) found.push(alone);
      else {
        const reach = Math.min(1.5, doubt);
        const slowest = logTaus[terms - 1];
        const from = Math.max(terms > 1 ? logTaus[terms - 2] + 0.25 : fit.low, slowest - 4 * reach);
        this.through(mode, from, Math.min(fit.high, slowest + 5 * reach), nodes, (one, spacing) =>
          found.push(describe(one, spacing)),
        );
      }
    }
    const best = likeliestOf(single);
    let base = best && modes[best.taus.length];
    let count = found.length;
    // One more exponential, slower than those that show; where it tells more than they do, another one.
    while (base && base.terms >= 2 && base.terms < mostTerms) {
      base = this.oneMore(base, scale, found);
      const now = likeliestOf(found);
      if (now && found.indexOf(now) < count) break;
      count = found.length;
    }
    return found;
  }

  /**
   * Adds the descriptions with one more exponential, slower than those of a mode; what was the slowest may then be an intermediate one.
   *
   * @returns its optimum; `undefined` where the log excludes it
   */
  private oneMore(
    base: ExponentialMode,
    scale: number,
    found: MixtureComponent[],
  ): ExponentialMode | undefined {
    const { fit, length } = this;
    const { terms, logTaus } = base;
    const slowest = logTaus[terms - 1];
    const from = Math.max(slowest + 0.1, Math.log(0.15 * length));
    if (from > fit.high - 0.2) return undefined;
    const top = likeliestOf(found)?.logWeight ?? -Infinity;
    const taus = new Float64Array(terms + 1);
    taus.set(logTaus);
    taus[terms] = Math.min(fit.high, Math.max(from, slowest + 0.3));
    const isWorthwhile = [taus[terms], Math.max(taus[terms], Math.log(length))].some((tau) => {
      const trial = taus.slice();
      trial[terms] = tau;
      const one = fit.refine(trial, terms + 1, 1, 1);
      return one && this.describe(one, scale, fit.high - from).logWeight > top - negligible;
    });
    if (!isWorthwhile) return undefined;
    taus[terms - 1] = Math.max(slowest - 0.5, 0.5 * (slowest + logTaus[terms - 2]));
    const more = fit.refine(taus, terms + 1, 0, 40);
    if (!more) return undefined;
    const { size, covariance } = more;
    const doubt = Math.sqrt(scale * covariance[size * size - 1]);
    if (doubt < wellKnownOfFour) found.push(this.describe(more, scale, 0));
    else {
      const reach = Math.min(1.5, doubt);
      const at = more.logTaus[terms];
      this.through(
        more,
        Math.max(Math.min(from, at), at - 4 * reach),
        Math.min(fit.high, at + 8 * reach),
        nodes,
        (one, spacing) => found.push(this.describe(one, scale, spacing)),
      );
    }
    return more;
  }

  /** Goes through the slowest time constant from `from` to `to`, the faster ones following. */
  private through(
    { terms, logTaus }: Pick<ExponentialMode, 'terms' | 'logTaus'>,
    from: number,
    to: number,
    count: number,
    keep: (mode: ExponentialMode, spacing: number) => void,
  ): void {
    const spacing = (to - from) / (count - 1);
    if (!(spacing > 0)) return;
    const centre = Math.min(count - 1, Math.max(0, Math.round((logTaus[terms - 1] - from) / spacing)));
    for (const direction of [1, -1]) {
      const taus = logTaus.slice();
      for (let i = direction > 0 ? centre : centre - 1; i >= 0 && i < count; i += direction) {
        taus[terms - 1] = from + i * spacing;
        for (let k = terms - 2; k >= 0; k--) taus[k] = Math.min(taus[k], taus[k + 1] - 0.24);
        const mode = this.fit.refine(taus, terms, 1, 3);
        if (mode) keep(mode, i === 0 || i === count - 1 ? spacing / 2 : spacing);
      }
    }
  }

  /** The same descriptions under the other laws by which the source may follow the air, moved as the likeliest one is. */
  private underOtherLaws(all: MixtureComponent[], mode: ExponentialMode): void {
    const { fit, readings, response, blocks } = this;
    const own = all.length;
    const [first, ...others] = readings.laws;
    if (others.length === 0) return;
    const airOf = (law: AirLaw) => {
      const seen = new AirSeen(law, response, blocks);
      seen.follow(networkOf(mode));
      return seen.air_C;
    };
    const air = airOf(first.law);
    for (const { law, weight } of others) {
      const other = airOf(law);
      const { rise_K } = fit.moved(
        mode,
        air.map((value, k) => value - other[k]),
      );
      const logWeight = Math.log(weight / first.weight);
      for (let i = 0; i < own; i++)
        all.push({
          ...all[i],
          logWeight: all[i].logWeight + logWeight,
          rise: all[i].rise + rise_K,
          short: all[i].short + rise_K,
        });
    }
  }
}

/** So much may go against the rise: of the rise, and what air that swayed before the step has left, K (assumptions). */
const opposedShare = 0.02;
const opposed_K = 0.3;
const mostFree = 3;

/**
 * Belief in the signs of a mode of more than three terms: where a network of resistances and heat capacities is heated, its step response is a sum
 * of exponentials of one sign. Of so many terms some nearly cancel where they describe noise and air, and say of the end whatever suits them.
 *
 * Source: Foster (1924) Bell System Technical Journal 3, 259.
 */
function logPriorOfSigns({ terms, amplitudes_K, logTaus }: ExponentialMode, at_s: number): number {
  if (terms <= mostFree) return 0;
  let up = 0;
  let down = 0;
  for (let i = 0; i < terms; i++) {
    const amplitude = amplitudes_K[i] * Math.exp(-at_s / Math.exp(logTaus[i]));
    if (amplitude > 0) up += amplitude;
    else down -= amplitude;
  }
  const opposed = Math.min(up, down);
  return -((opposed / (opposedShare * Math.abs(up - down) + opposed_K)) ** 2) / 2;
}

/** The one with the greatest weight. */
function likeliestOf(components: readonly (MixtureComponent | undefined)[]): MixtureComponent | undefined {
  let likeliest: MixtureComponent | undefined;
  for (const one of components)
    if (one && !(likeliest && likeliest.logWeight >= one.logWeight)) likeliest = one;
  return likeliest;
}
