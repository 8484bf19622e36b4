import { ExponentialFit, type ExponentialMode, type Following } from './exponential-fit.ts';
import { exponentialStarts } from './exponential-starts.ts';
import { likeliestFollowing, underOtherLaws } from './following-air.ts';
import type { LogBlocks } from './log-blocks.ts';
import {
  componentOf,
  type MixtureComponent,
  mixtureHalfWidth,
  mixtureMean,
  probabilityWithin,
} from './mixture.ts';
import { ambientLongRun, type ReadingNoise, whitening } from './reading-noise.ts';
import { differenceVariance, residualNoise, stuckRounding } from './residual-noise.ts';
import { type ResponseBlocks, responseBlocks } from './response-blocks.ts';
import { slowTail, throughRange } from './slow-end.ts';

export interface AsymptoteOptions {
  /** Greatest time constant thought possible, s. Default 1500: a loop with a large reservoir (common practice, no
   * source). A response that is slower still is taken for drift. */
  readonly longest_s?: number;
  /** Length of the last window, s. Default 60. */
  readonly window_s?: number;
  /** Change of the load at the step, W: lets drift of the load be taken out. */
  readonly change_W?: number;
  /**
   * A finished fit of the same response over more rows: gives the noise of the readings and the time constants, from
   * which one Gauss–Newton step then does.
   */
  readonly finished?: Asymptote;
  /** Half-width that is wanted: a fit that cannot reach it is given up, or spares the finer points of its doubt. */
  readonly enough_K?: number;
  /** The law by which the source follows the air, when it is known. */
  readonly following?: Following;
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
  /** Probability of zero, one, two, three exponentials. */
  readonly termWeights: readonly number[];
  readonly noise: ReadingNoise;
  /** Long-run variance of the ambient reading's own noise, K²·s. */
  readonly airRun: number;
  /** Blocks the fit saw. */
  readonly blocks: ResponseBlocks;
  readonly components: readonly MixtureComponent[];
  /** Logarithms of the time constants at the best one, two and three exponentials. */
  readonly starts: readonly Float64Array[];
  /** How the source was found to follow the air. */
  readonly following: Following;
  /** Ambient as the source saw it, at the blocks, °C. */
  ambientSeen(): Float64Array;
  /** Probability that the last window's mean is within so many K of the asymptote. */
  within(limit_K: number): number;
}

/** Belief in the number of exponentials before the data: a cooler has a base and an air side at least. */
const termPrior = [0.05, 0.1, 0.45, 0.4];
const wellKnown = 0.09;

/**
 * The asymptote of a step response, from zero to three exponentials over ambient that reaches the source through the
 * same lags.
 *
 * Every number of exponentials contributes with its evidence (Laplace's approximation to the integral over its
 * parameters); where the slowest time constant is poorly known, its whole range is gone through and each value
 * contributes what remains likely there. The interval therefore holds the doubt about the slow end, which is what
 * matters in a log that stopped early. Noise is a first-order autoregression plus white noise, estimated from the
 * residuals of rows, and scaled once more by what the blocks scatter.
 *
 * @param first     first block of the step
 * @param end       block after the last
 * @param origin_s  time of the step
 * @returns `undefined` where the readings have none: fewer than eight blocks, no response at all, or one that is not known
 *   within `enough_K`
 */
export function asymptoteOf(
  log: LogBlocks,
  first: number,
  end: number,
  origin_s: number,
  options: AsymptoteOptions = {},
): Asymptote | undefined {
  const blocks = responseBlocks(log, first, end, origin_s, options.change_W);
  const n = blocks.count;
  if (n < 8) return undefined;
  const length = blocks.time_s[n - 1];
  const { finished } = options;
  const law = finished?.following ?? options.following;
  const rough = finished?.noise ?? {
    white: differenceVariance(log, first, end),
    slow: 0,
    correlation_s: 1,
    interval_s: log.interval_s,
  };
  const fit = new ExponentialFit(blocks, whitening(blocks, rough), 1, options.longest_s ?? 1500);
  if (law) fit.following = law;
  const optima = finished
    ? {
        starts: finished.starts,
        noise: rough,
        two: fit.foresee(finished.starts[1], 2, 0),
        three: n > 20 ? fit.foresee(finished.starts[2], 3, 0) : undefined,
      }
    : freshOptima(fit, law, (best) =>
        residualNoise(log, first, end, origin_s, blocks, best, fit.ambientOf(best)),
      );
  if (!optima) return undefined;
  const { starts, noise, two, three } = optima;
  const modes = withPlainer(fit, starts, two, three);
  const scale = scatterOver(modes, n);
  const window = { from: Math.max(0.75 * length, length - (options.window_s ?? 60)), to: length };
  const described = descriptions(fit, modes, scale, window, options);
  if (!described) return undefined;
  const { found, best } = described;
  const { all, better } = isHopeless(best, options)
    ? { all: found, better: undefined }
    : underOtherLaws(fit, found, modes, best, scale, finished !== undefined);
  if (better && !law) {
    const again = asymptoteOf(log, first, end, origin_s, { ...options, following: better });
    if (again) return again;
  }
  const mean = mixtureMean(all);
  const airRun = finished?.airRun ?? ambientLongRun(log, first, end);
  const freedom = Math.max(4, Math.min(n - 2 * best.taus.length - 1, freedomOfNoise(noise, length)));
  const halfWidth =
    mixtureHalfWidth(all, mean.rise, besideTheFit(log, blocks, noise, scale, airRun, best)) * tOverZ(freedom);
  if (!Number.isFinite(mean.rise) || !Number.isFinite(halfWidth)) return undefined;
  let rate = 0;
  for (let i = 0; i < best.taus.length; i++)
    rate += (-60 * best.amplitudes[i] * Math.exp(-length / best.taus[i])) / best.taus[i];
  const termWeights = [0, 0, 0, 0];
  for (let i = 0; i < all.length; i++) termWeights[all[i].taus.length] += all[i].weight;
  return {
    rise_K: mean.rise,
    u_K: halfWidth / 1.959964,
    halfWidth_K: halfWidth,
    short_K: mean.short,
    shortU_K: mean.shortU,
    rate_K_per_min: rate,
    timeConstants_s: best.taus,
    amplitudes_K: best.amplitudes,
    termWeights,
    noise: { ...noise, white: noise.white * scale, slow: noise.slow * scale },
    airRun,
    blocks,
    components: all,
    starts,
    following: fit.following,
    ambientSeen: () =>
      fit.ambientOf({
        terms: best.taus.length,
        logTaus: Float64Array.from(best.taus, Math.log),
        amplitudes_K: Float64Array.from(best.amplitudes),
      }),
    within: (limit_K) => probabilityWithin(all, limit_K),
  };
}

type Mode = ExponentialMode | undefined;

/** The optimum with each number of exponentials, and what was found on the way to it. */
interface Optima {
  /** Logarithms of the time constants at the best one, two and three exponentials. */
  readonly starts: readonly Float64Array[];
  readonly noise: ReadingNoise;
  readonly two: Mode;
  readonly three: Mode;
}

/** Three exponentials that leave so much less are taken for what happens. */
const plainlyThree = ({ two, three }: { two: Mode; three: Mode }, share: number): boolean =>
  two !== undefined && three !== undefined && three.chiSquare < share * two.chiSquare;

/**
 * The optima of two and three exponentials from nothing: first with white noise, by which the law of following the air and the noise
 * itself are found, then with that noise.
 *
 * @param noiseBeside  the noise that the rows show about a mode
 */
function freshOptima(
  fit: ExponentialFit,
  law: Following | undefined,
  noiseBeside: (mode: ExponentialMode) => ReadingNoise,
): Optima | undefined {
  const { n, blocks } = fit;
  const starts = exponentialStarts(fit, Math.min(Math.exp(fit.high), 2 * blocks.time_s[n - 1]));
  let two = fit.refine(starts[1], 2, 0, 8, 0.5, 0.06);
  let three = n > 20 ? fit.refine(starts[2], 3, 0, 8, 0.5, 0.06) : undefined;
  // Correlated noise and a poor optimum look alike here, so in doubt a second start is tried.
  if (three && two && three.chiSquare > 1.4 * (n - 7)) {
    const between = Float64Array.of(
      two.logTaus[0],
      0.6 * two.logTaus[0] + 0.4 * two.logTaus[1],
      two.logTaus[1],
    );
    const other = fit.refine(between, 3, 0, 8, 0.5, 0.06);
    if (other && other.chiSquare < three.chiSquare) {
      three = other;
      starts[2] = between;
    }
  }
  if (!law) {
    fit.following = likeliestFollowing(fit, plainlyThree({ two, three }, 0.97) ? three : two, n);
    if (fit.following !== 'ladder') {
      two = fit.refine(starts[1], 2, 0, 8, 0.5, 0.06);
      three = three && fit.refine(starts[2], 3, 0, 8, 0.5, 0.06);
    }
  }
  const best = (plainlyThree({ two, three }, 0.97) ? three : two) ?? fit.constant();
  if (!best) return undefined;
  const noise = noiseBeside(best);
  fit.setWhitening(whitening(blocks, noise));
  // Two exponentials that leave twice as much are out of the question with thirty blocks.
  two = plainlyThree({ two, three }, 0.5) ? undefined : fit.refine(starts[1], 2, 0, 8, 0.05);
  three = three && fit.refine(starts[2], 3, 0, 12, 0.05);
  return { starts, noise, two, three };
}

/** With none and one exponential, which are only worth a look when the second one is small against the noise. */
function withPlainer(fit: ExponentialFit, starts: readonly Float64Array[], two: Mode, three: Mode): Mode[] {
  const isPlain =
    !(two ?? three) || (two && Math.abs(two.amplitudes_K[0]) < 12 * Math.sqrt(two.covariance[two.size + 1]));
  return isPlain ? [fit.constant(), fit.refine(starts[0].slice(), 1, 0, 5), two, three] : [two, three];
}

/** What the blocks scatter over what the noise lets one expect, by the best mode. */
function scatterOver(modes: readonly Mode[], n: number): number {
  let scale = Infinity;
  for (const mode of modes) {
    if (mode && n > 2 * mode.terms + 4) scale = Math.min(scale, mode.chiSquare / (n - 2 * mode.terms - 1));
  }
  return scale > 0 && Number.isFinite(scale) ? scale : 1;
}

/**
 * Every description that the response allows: each mode with its evidence, and where its slowest time constant is poorly known the whole
 * range of that; a third, slower exponential that cannot be ruled out.
 *
 * @returns all of them, and the best one apart from the slower third; `undefined` where `enough_K` is out of reach, or where
 *   nothing describes the response
 */
function descriptions(
  fit: ExponentialFit,
  modes: readonly Mode[],
  scale: number,
  window: { readonly from: number; readonly to: number },
  { finished, enough_K }: AsymptoteOptions,
): { found: MixtureComponent[]; best: MixtureComponent } | undefined {
  const describe = (mode: ExponentialMode, spacing: number) =>
    componentOf(mode, scale, fit, spacing, Math.log(termPrior[mode.terms]), window.from, window.to);
  const found: MixtureComponent[] = [];
  const keep = (mode: Mode, spacing: number) => {
    if (mode) found.push(describe(mode, spacing));
  };
  const single = modes.map((mode) => mode && describe(mode, 0));
  const likeliest = likeliestOf(single);
  const top = likeliest?.logWeight ?? -Infinity;
  if (enough_K !== undefined && likeliest && isBeyondHope(likeliest, enough_K)) return undefined;
  for (let m = 0; m < modes.length; m++) {
    const mode = modes[m];
    const alone = single[m];
    if (!mode || !alone || alone.logWeight < top - 9) continue;
    const slowest = mode.terms - 1;
    const doubt = mode.terms > 0 ? Math.sqrt(scale * mode.covariance[mode.size * mode.size - 1]) : 0;
    const atEdge = mode.terms > 0 && mode.logTaus[slowest] > fit.high - 0.01;
    if (mode.terms === 0 || (doubt < wellKnown && !atEdge)) found.push(alone);
    else {
      const from = mode.terms > 1 ? mode.logTaus[slowest - 1] + 0.25 : fit.low;
      const reach = Math.min(1.5, doubt);
      throughRange(
        fit,
        mode,
        Math.max(from, mode.logTaus[slowest] - 4 * reach),
        Math.min(fit.high, mode.logTaus[slowest] + 5 * reach),
        keep,
        finished ? 0 : 3,
      );
    }
  }
  const two = modes.find((mode) => mode?.terms === 2);
  const three = modes.find((mode) => mode?.terms === 3);
  const twoCounts = two && (single[modes.indexOf(two)]?.logWeight ?? -Infinity) > top - 9;
  const isSlowerStill = three && two && three.logTaus[2] > two.logTaus[1] + 0.3;
  const best = likeliestOf(found);
  if (!best) return undefined;
  if (twoCounts && two.logTaus[1] + 0.4 < fit.high && !isSlowerStill && !isHopeless(best, { enough_K }))
    slowTail(fit, two, keep);
  return { found, best };
}

function likeliestOf(components: readonly (MixtureComponent | undefined)[]): MixtureComponent | undefined {
  let likeliest: MixtureComponent | undefined;
  for (const one of components)
    if (one && !(likeliest && likeliest.logWeight >= one.logWeight)) likeliest = one;
  return likeliest;
}

/**
 * Variance of the asymptote that the fit does not see: noise of the air's own reading, and rounding of readings that stand still, K².
 */
function besideTheFit(
  log: LogBlocks,
  blocks: ResponseBlocks,
  noise: ReadingNoise,
  scale: number,
  airRun: number,
  best: MixtureComponent,
): number {
  const n = blocks.count;
  const longRun = scale * (noise.white * noise.interval_s + 2 * noise.slow * noise.correlation_s);
  const rowVariance = scale * (noise.white + noise.slow);
  const tail = Math.floor(0.4 * n);
  return (
    airRun * Math.min(longRun > 0 ? best.variance / longRun : Infinity, 4 / blocks.time_s[n - 1]) +
    stuckRounding(log.sourceStep_K, rowVariance, blocks.source_C, tail, n) +
    stuckRounding(log.ambientStep_K, airRun / log.interval_s, blocks.ambient_C, tail, n)
  );
}

/**
 * Student's t over the normal quantile at 97.5 %, from four degrees of freedom on to 0.3 %.
 *
 * Source: Abramowitz and Stegun (1964), 26.7.5, with the quantile's value put in.
 *
 * @example tOverZ(8) // 1.176, from 2.306 / 1.960
 */
export function tOverZ(freedom: number): number {
  return 1 + (1.2104 + (1.44 + 1.304 / freedom) / freedom) / freedom;
}

/**
 * Degrees of freedom with which the long-run variance of the noise is known from the last two thirds of a response: of a
 * first-order autoregression its logarithm has variance 8τ/T, of white noise almost none.
 */
function freedomOfNoise(noise: ReadingNoise, length_s: number): number {
  const slow = 2 * noise.slow * noise.correlation_s;
  const share = slow / (slow + noise.white * noise.interval_s);
  const variance = (share * share * 8 * noise.correlation_s) / ((2 / 3) * length_s);
  return variance > 0 ? 2 / variance : Infinity;
}

/** The best description alone leaves more doubt than is wanted, so that the finer points of it need no look. */
function isHopeless(best: MixtureComponent, { enough_K }: AsymptoteOptions): boolean {
  return enough_K !== undefined && 1.96 * Math.sqrt(best.variance) > enough_K;
}

/** The best description alone leaves half as much doubt again as is wanted, and the others only add to it. */
function isBeyondHope(likeliest: MixtureComponent, enough_K: number): boolean {
  return 1.96 * Math.sqrt(likeliest.variance) > 1.5 * enough_K;
}
