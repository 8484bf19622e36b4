import { MOUNT, READING } from '../fit/components.ts';
import { relativeSpeed } from '../fit/cooler-runs.ts';
import { largest } from '../numerics/extremes.ts';
import { type ConditionalGaussian, type Gaussian, given } from '../numerics/gaussian.ts';
import { addDiagonal, addTransposeProduct, cholesky, submatrix } from '../numerics/matrix.ts';
import { type BenchRises, benchRises } from '../predict/bench-rises.ts';
import { type FormulaRises, jointRises } from '../predict/joint-rises.ts';
import { atLoads, type RisePoint } from '../predict/rise-point.ts';
import { alike, type Fitting, inOrder, keyOf, kindOf } from './fitting.ts';
import type { PlannedCoolerState, Question } from './planned-cooler.ts';
import type { Estimate } from './population.ts';
import type { Heats } from './prospects.ts';
import type { PlannedRun } from './visits.ts';

/** What some planned runs leave of the rises asked for. */
export interface RisesAfter {
  readonly fittings: readonly Fitting[];
  /** Runs and then targets, the runs with the scatters of fitting and reading in them; of like fittings their mean. */
  readonly joint: Gaussian;
  /** Of the targets. */
  readonly after: ConditionalGaussian;
  /** Effect on each target's estimate of the errors that no run tells of. */
  readonly sensitivity: Float64Array;
  /** Of each scatter in the variance that is left, by load; once asked for. */
  readonly shares: Float64Array[];
}

/** One of the distributions to draw from, with its chance: mean, and the lower factor of the covariance. */
export interface Draw {
  readonly weight: number;
  readonly mean: Float64Array;
  readonly factor: Float64Array;
}

/** What planned runs left that were asked for, kept at most. */
const MOST_KEPT = 20_000;

/**
 * Rises asked for and readings that may be taken, of coolers whose rises hang together given the runs done (on the heater each by itself, on a chip all):
 * one Gaussian, limits of pipes apart, and what is left of it once some of the readings have been taken.
 */
export class PlannedRises {
  readonly coolers: readonly number[];
  readonly rises: BenchRises;
  private readonly question: Question;
  private readonly states: readonly PlannedCoolerState[];
  /** Where the rises of a cooler stand, and a kind of run. */
  private readonly first = new Map<number, number>();
  private readonly kinds = new Map<string, number>();
  private readonly targets: readonly number[];
  private readonly points: readonly RisePoint[];
  private readonly left = new Map<string, RisesAfter>();
  private formulas: readonly FormulaRises[] | undefined;
  private drawn: readonly Draw[] | undefined;

  /**
   * @param members  the coolers, by place among `states`
   * @param runs  one of every kind that may be planned
   */
  constructor(
    question: Question,
    states: readonly PlannedCoolerState[],
    members: readonly number[],
    runs: readonly PlannedRun[],
  ) {
    const { posterior, power_W } = question;
    let first = 0;
    const points = members.map((c) => {
      const { posterior: cooler, at } = states[c];
      const own = runs.filter((one) => one.cooler === c);
      this.first.set(c, first);
      own.forEach((one, k) => {
        this.kinds.set(kindOf(one), first + power_W.length + k);
      });
      first += power_W.length + own.length;
      return {
        // Limits of pipes stand beside the Gaussian.
        cooler: { ...cooler, limits: [] },
        rises: atLoads(power_W, at.speed, at.more),
        readings: own.map(
          (one): RisePoint => ({
            power_W: one.power_W,
            speed: relativeSpeed(cooler.data.cooler, one.fan_rpm),
            sample: one.sample,
            ...(one.onHeater && { onHeater: true }),
          }),
        ),
      };
    });
    this.question = question;
    this.states = states;
    this.coolers = members;
    this.rises = benchRises(posterior, points);
    this.targets = members.flatMap((c) => power_W.map((_, l) => this.target(c, l)));
    this.points = points.flatMap(({ rises, readings }) => [...rises, ...readings]);
  }

  /** Place of a cooler's rise at a load, and of a planned run. */
  target(c: number, l: number): number {
    return (this.first.get(c) as number) + l;
  }

  row(run: PlannedRun): number {
    const row = this.kinds.get(kindOf(run));
    if (row === undefined) throw new RangeError(`no kind of run at ${run.power_W} W was named`);
    return row;
  }

  /** The greatest heat into the base of each of a cooler's fittings, W. */
  heatsOf(c: number, fittings: readonly Fitting[]): Heats['fittings'] {
    return fittings
      .filter(({ cooler }) => cooler === c)
      .map(({ runs, times }) => ({
        most_W: largest(runs.map((run) => this.rises.loading_W[this.row(run)])),
        times,
      }));
  }

  /** The rises given the readings of some runs, whatever they read: the variance left and the gain of each reading. Kept by the runs. */
  after(fittings: readonly Fitting[]): RisesAfter {
    const merged = inOrder(alike(fittings));
    const key = keyOf(merged);
    const found = this.left.get(key);
    if (found) return found;
    const after = this.laidOut(merged);
    if (this.left.size >= MOST_KEPT) this.left.clear();
    this.left.set(key, after);
    return after;
  }

  /** The same with every run in its place. */
  laidOut(fittings: readonly Fitting[]): RisesAfter {
    const runs = fittings.flatMap((one) => one.runs.map((run) => ({ run, one })));
    const { mean, covariance, loading_W, sensitivity, errors } = this.rises;
    const { sigma } = this.question.posterior.scatter;
    const rows = [...runs.map(({ run }) => this.row(run)), ...this.targets];
    const joint = {
      mean: submatrix(mean, 1, rows, [0]),
      covariance: submatrix(covariance, mean.length, rows),
    };
    runs.forEach(({ one }, i) => {
      runs.forEach((other, j) => {
        if (other.one !== one) return;
        const both = loading_W[rows[i]] * loading_W[rows[j]];
        joint.covariance[i * rows.length + j] += (sigma[MOUNT] ** 2 * both) / one.times;
      });
      joint.covariance[i * rows.length + i] += sigma[READING] ** 2 / one.times;
    });
    const after = given(
      joint,
      runs.map((_, i) => i),
      undefined,
    );
    const columns = Array.from({ length: errors }, (_, e) => e);
    const left = addTransposeProduct(
      submatrix(sensitivity, errors, this.targets, columns),
      after.weights,
      submatrix(sensitivity, errors, rows.slice(0, runs.length), columns),
      runs.length,
      this.targets.length,
      errors,
      -1,
    );
    return { fittings, joint, after, sensitivity: left, shares: [] };
  }

  /** Variance left of a cooler's rise at a load, K². */
  variance({ after }: RisesAfter, c: number, l: number): number {
    const t = this.place(c, l);
    return Math.max(after.covariance[t * this.targets.length + t], 1e-12);
  }

  /** Covariance left between the rises of two of the coolers, K². */
  covariance({ after }: RisesAfter, a: number, b: number, l: number): number {
    return after.covariance[this.place(a, l) * this.targets.length + this.place(b, l)];
  }

  sensitivity({ sensitivity }: RisesAfter, c: number, l: number): Float64Array {
    const { errors } = this.rises;
    const t = this.place(c, l);
    return sensitivity.slice(t * errors, (t + 1) * errors);
  }

  /** Place among the targets. */
  private place(c: number, l: number): number {
    return this.coolers.indexOf(c) * this.question.power_W.length + l;
  }

  /** Share of each scatter in the variance that is left of the rise of a cooler that stands by itself. */
  shares(after: RisesAfter, l: number): Float64Array {
    after.shares[l] ??= this.sharesOf(after, l);
    return after.shares[l];
  }

  /**
   * What is left is the variance of the rise less the readings by their gains, since these make it least: of that contrast each scatter's response, and
   * what the planned fittings and readings bring of their own.
   */
  private sharesOf({ fittings, after }: RisesAfter, l: number): Float64Array {
    const { sigma } = this.question.posterior.scatter;
    const { loading_W } = this.rises;
    const runs = fittings.flatMap((one) => one.runs.map((run) => ({ row: this.row(run), one })));
    const gain = runs.map((_, i) => after.weights[i * this.targets.length + l]);
    const slopes = sigma.map(() => 0);
    this.ofFormulas().forEach(({ weight, scatterResponse }) => {
      const contrast = [[this.targets[l], 1] as const, ...runs.map(({ row }, i) => [row, -gain[i]] as const)];
      scatterResponse(contrast).forEach((value, k) => {
        slopes[k] += weight * value;
      });
    });
    const effects = new Map<Fitting, number>();
    runs.forEach(({ row, one }, i) => {
      effects.set(one, (effects.get(one) ?? 0) + gain[i] * loading_W[row]);
      slopes[READING] += (gain[i] * sigma[READING]) ** 2 / one.times;
    });
    for (const [{ times }, effect] of effects) slopes[MOUNT] += (effect * sigma[MOUNT]) ** 2 / times;
    const left = after.covariance[l * this.targets.length + l];
    return Float64Array.from(slopes, (value) => value / left);
  }

  /** Of a cooler that stands by itself: its points under each formula. */
  private ofFormulas(): readonly FormulaRises[] {
    const { posterior } = this.states[this.coolers[0]];
    this.formulas ??= jointRises(this.question.posterior, posterior, this.points, { want: 'covariance' });
    return this.formulas;
  }

  /**
   * What true rises and what fresh fittings would read on average are drawn from: on the heater each formula as it is believed of the cooler beside
   * the others (what is found of it stands by its own runs), on a chip all coolers together.
   */
  draws(): readonly Draw[] {
    if (this.drawn) return this.drawn;
    const { posterior, power_W } = this.question;
    const { among } = this.states[this.coolers[0]];
    const under = posterior.term ? [{ ...this.rises, weight: 1 }] : this.ofFormulas();
    const size = this.rises.mean.length;
    const last = power_W.length - 1;
    const draws = under.map((formula): Draw => {
      const { mean, covariance, logDensity } = asBelieved(formula, this.rises, last, among?.[last]);
      const factor = covariance.slice();
      // Two loads may be nearly one; a jitter far below any printed digit keeps the factor real.
      addDiagonal(factor, size, 1e-9);
      if (!cholesky(factor, size)) throw new RangeError('what is drawn has no spread of its own');
      return { weight: formula.weight * Math.exp(logDensity), mean, factor };
    });
    const total = draws.reduce((sum, { weight }) => sum + weight, 0);
    this.drawn = draws.map((draw) => ({ ...draw, weight: draw.weight / total }));
    return this.drawn;
  }
}

/**
 * A joint distribution moved to what is believed of one of its values beside the other coolers: given that reading of it which leads from the
 * cooler's own estimate to the one among them.
 *
 * @param own  the cooler's own estimate, over formulas
 */
function asBelieved(
  joint: Gaussian,
  own: Gaussian,
  at: number,
  among: Estimate | undefined,
): Gaussian & { readonly logDensity: number } {
  const size = joint.mean.length;
  const [mean, variance] = [own.mean[at], own.covariance[at * size + at]];
  const precision = among ? 1 / among.u ** 2 - 1 / variance : 0;
  if (!among || !(precision > 1e-9)) return { ...joint, logDensity: 0 };
  const observed = (among.mean / among.u ** 2 - mean / variance) / precision;
  return given(joint, [at], [observed], { of: Array.from(joint.mean.keys()), noise: [1 / precision] });
}
