import type { Random } from '../lab/random.ts';
import { cholesky } from '../numerics/matrix.ts';
import { ChipForecast, type KindOfRun, type PlannedOnChip } from '../sources/chip-forecast.ts';
import { correlatedDraw } from './correlated-draw.ts';
import { chanceBeyond, type Question } from './outlook.ts';
import type { PlannedCoolerState } from './planned-cooler.ts';
import { runsOfVisits, type Visit } from './visits.ts';

/** What planned runs on a chip buy: each cooler's uncertainty and each pair's chance, all coolers together. */
export class ChipPlan {
  /** Places among the coolers asked for of those with heater runs; others were run on the chip alone and nothing is foreseen of them. */
  readonly foreseen: readonly number[];
  private readonly forecast: ChipForecast;
  private readonly coolers: readonly PlannedCoolerState[];
  private readonly question: Question;
  private readonly now: Float64Array;
  private readonly kinds: readonly KindOfRun[];
  private readonly known = new Map<string, Float64Array>();

  constructor(question: Question, coolers: readonly PlannedCoolerState[], kinds: readonly KindOfRun[]) {
    const { posterior } = question;
    this.foreseen = coolers.flatMap((one, c) =>
      one.posterior.fittedIn?.posterior.source === posterior.source ? [] : [c],
    );
    this.coolers = coolers;
    this.kinds = kinds;
    this.question = question;
    this.forecast = new ChipForecast(
      posterior,
      this.foreseen.map((c) => ({ cooler: coolers[c].posterior, speed: coolers[c].at.speed })),
      question.power_W,
      kinds
        .filter(({ cooler }) => this.foreseen.includes(cooler))
        .map((kind) => ({ ...kind, cooler: this.foreseen.indexOf(kind.cooler) })),
    );
    this.now = this.forecast.after([]);
  }

  /** Covariance of the true rises after some runs, see {@link ChipForecast}. */
  after(planned: readonly PlannedOnChip[]): Float64Array {
    const own = planned
      .filter(({ cooler }) => this.foreseen.includes(cooler))
      .map((one) => ({ ...one, cooler: this.foreseen.indexOf(one.cooler) }));
    const key = keyOf(own);
    let found = this.known.get(key);
    if (!found) {
      found = this.forecast.after(own);
      this.known.set(key, found);
    }
    return found;
  }

  /** Standard uncertainty of a cooler's true rise at a load, K; `undefined` where nothing is foreseen. */
  deviation(after: Float64Array, cooler: number, l: number): number | undefined {
    const k = this.place(cooler, l);
    return k === undefined ? undefined : Math.sqrt(Math.max(0, after[k * this.forecast.size + k]));
  }

  /** Variance of the difference of two coolers' rises at a load, K²; `undefined` where nothing is foreseen of one. */
  variance(after: Float64Array, a: number, b: number, l: number): number | undefined {
    const [i, j] = [this.place(a, l), this.place(b, l)];
    if (i === undefined || j === undefined) return undefined;
    const { size } = this.forecast;
    return Math.max(0, after[i * size + i] + after[j * size + j] - 2 * after[i * size + j]);
  }

  /**
   * Chance that two coolers are told apart at a load: the estimate of the difference will come to lie normally about what it is now, with the
   * variance that the runs take away, and the limits that will then hold are those of the variance that is left.
   */
  chance(after: Float64Array, a: number, b: number, l: number): number | undefined {
    const before = this.variance(this.now, a, b, l);
    const left = this.variance(after, a, b, l);
    if (before === undefined || left === undefined) return undefined;
    const [first, second] = [this.coolers[a].limitsNow[l], this.coolers[b].limitsNow[l]];
    const difference = first.middle_K - second.middle_K;
    const limit = this.multiple(a, b, l) * Math.sqrt(left);
    return chanceBeyond(difference, Math.sqrt(Math.max(0, before - left)), limit);
  }

  /** The same after as many fittings of the samples at hand as one likes, at the load of those named that is nearest. */
  everChance(a: number, b: number, l: number): number | undefined {
    const power_W = this.question.power_W[l];
    const planned = [a, b].flatMap((cooler) => {
      const own = this.kinds.filter((kind) => kind.cooler === cooler);
      const nearest = Math.min(...own.map((kind) => Math.abs(kind.power_W - power_W)));
      return own
        .filter((kind) => Math.abs(kind.power_W - power_W) === nearest)
        .flatMap((kind) =>
          Array.from({ length: MANY_FITTINGS }, (_, k) => ({ ...kind, mount: `${kind.sample}/${k}` })),
        );
    });
    return this.chance(this.after(planned), a, b, l);
  }

  /**
   * Draws what the estimates would come to and what is true, K, cooler by cooler and load by load as {@link deviation} counts them; `undefined`
   * for a cooler of which nothing is foreseen.
   */
  drawer(planned: readonly PlannedOnChip[]): (random: Random) => ChipDraw {
    const { size } = this.forecast;
    const left = this.after(planned);
    const moves = rootOf(
      this.now.map((value, k) => value - left[k]),
      size,
    );
    const open = rootOf(left, size);
    return (random) => {
      const found = correlatedDraw(moves, size, random);
      const rest = correlatedDraw(open, size, random);
      const at = (values: Float64Array, cooler: number, l: number) => {
        const k = this.place(cooler, l);
        return k === undefined ? undefined : values[k];
      };
      return {
        moved_K: (cooler, l) => at(found, cooler, l),
        error_K: (cooler, l) => at(rest, cooler, l),
      };
    };
  }

  /** Critical multiple for a pair, with the degrees of freedom of the less well known scatter. */
  multiple(a: number, b: number, l: number): number {
    const { critical } = this.question;
    const freedom = Math.min(
      this.coolers[a].limitsNow[l].distribution.meanFreedom,
      this.coolers[b].limitsNow[l].distribution.meanFreedom,
    );
    return critical(freedom);
  }

  private place(cooler: number, l: number): number | undefined {
    const c = this.foreseen.indexOf(cooler);
    return c < 0 ? undefined : c * this.question.power_W.length + l;
  }
}

/** One carrying out: how far each estimate moves, and how far the truth then is from it. */
export interface ChipDraw {
  moved_K(cooler: number, l: number): number | undefined;
  error_K(cooler: number, l: number): number | undefined;
}

/** More fittings than anybody makes: what is left then stays. */
const MANY_FITTINGS = 20;

/** Lower factor of a covariance that may be singular: a hair is added to its diagonal. */
function rootOf(covariance: Float64Array, size: number): Float64Array {
  const out = covariance.slice();
  let most = 0;
  for (let k = 0; k < size; k++) most = Math.max(most, out[k * size + k]);
  for (let k = 0; k < size; k++) out[k * size + k] += 1e-9 * most + 1e-12;
  if (!cholesky(out, size)) throw new RangeError('the covariance of the rises is not positive');
  return out;
}

/** The same for the same runs on as many fittings, whatever these are called. */
function keyOf(planned: readonly PlannedOnChip[]): string {
  const fittings = new Map<string, string>();
  for (const { cooler, sample, mount, power_W, fan_rpm } of planned) {
    const name = JSON.stringify([cooler, mount]);
    fittings.set(name, `${fittings.get(name) ?? ''}${JSON.stringify([cooler, sample, power_W, fan_rpm])}`);
  }
  return [...fittings.values()].sort().join(';');
}

/** The runs of some visits at the coolers' speeds. */
export function runsOnChip(
  visits: readonly Visit[],
  coolers: readonly PlannedCoolerState[],
): PlannedOnChip[] {
  return runsOfVisits(visits, ({ cooler }) => coolers[cooler].at.fan_rpm);
}

/** Every kind of run that visits are made of. */
export function kindsOf(visits: readonly Visit[], coolers: readonly PlannedCoolerState[]): KindOfRun[] {
  const kinds = new Map<string, KindOfRun>();
  for (const { mount: _, ...kind } of runsOnChip(visits, coolers)) {
    kinds.set(JSON.stringify([kind.cooler, kind.sample, kind.power_W]), kind);
  }
  return [...kinds.values()];
}
