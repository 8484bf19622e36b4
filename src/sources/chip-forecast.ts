import { given } from '../numerics/gaussian.ts';
import { submatrix } from '../numerics/matrix.ts';
import type { BenchPosterior, CoolerPosterior } from '../posterior/bench-posterior.ts';
import { relativeSpeed } from '../posterior/cooler-runs.ts';
import { MOUNT, READING } from '../posterior/scatter.ts';
import { type BenchRises, benchRises } from '../prediction/bench-rises.ts';
import { atLoads, type RisePoint } from '../prediction/rise-point.ts';

/** A cooler that is asked for, and its fan speed over its greatest. */
export interface AskedOnChip {
  readonly cooler: CoolerPosterior;
  readonly speed: number;
}

/** A run on a chip that may be done; `cooler` is a place among those asked for. */
export interface KindOfRun {
  readonly cooler: number;
  readonly sample: string;
  readonly power_W: number;
  readonly fan_rpm: number;
}

/** A run of one of the kinds; fittings with one name are one. */
export interface PlannedOnChip extends KindOfRun {
  readonly mount: string;
}

/**
 * What runs on a chip, done and planned, leave open of the coolers' rises there, before the planned ones are read.
 *
 * The joint distribution given the runs done is worked out once for all kinds of runs that may be planned; what a plan leaves is then one
 * conditioning on its own runs, all coolers together, since a run of one cooler tells of the term that the others have
 * too. Scatters and the prior of the term are kept as they are known now.
 */
export class ChipForecast {
  /** Coolers times loads. */
  readonly size: number;
  private readonly kinds: readonly KindOfRun[];
  private readonly all: BenchRises;
  private readonly sigma: readonly number[];
  /** Where each target and each kind of run stands in `all`. */
  private readonly targets: readonly number[];
  private readonly places: readonly number[];

  /**
   * @param asked  each at every load of `power_W`
   * @param kinds  every kind of run that will be planned
   */
  constructor(
    posterior: BenchPosterior,
    asked: readonly AskedOnChip[],
    power_W: readonly number[],
    kinds: readonly KindOfRun[],
  ) {
    this.kinds = kinds;
    this.sigma = posterior.scatter.sigma;
    this.size = asked.length * power_W.length;
    const places = new Array<number>(kinds.length);
    const targets: number[] = [];
    let first = 0;
    const points = asked.map(({ cooler, speed }, c) => {
      const own = kinds.flatMap((kind, k) => (kind.cooler === c ? [k] : []));
      power_W.forEach((_, l) => {
        targets.push(first + l);
      });
      own.forEach((k, i) => {
        places[k] = first + power_W.length + i;
      });
      first += power_W.length + own.length;
      const readings = own.map((k): RisePoint => {
        const { power_W: power, fan_rpm, sample } = kinds[k];
        return { power_W: power, speed: relativeSpeed(cooler.data.cooler, fan_rpm), sample };
      });
      return { cooler, rises: atLoads(power_W, speed), readings };
    });
    this.all = benchRises(posterior, points);
    this.places = places;
    this.targets = targets;
  }

  /**
   * Covariance of the true rises once some runs are done, coolers times loads, cooler by cooler, K².
   *
   * @throws RangeError for a run of a kind that was not named
   */
  after(planned: readonly PlannedOnChip[]): Float64Array {
    const { mean, covariance, loading_W } = this.all;
    const at = [...planned.map((one) => this.places[this.kindOf(one)]), ...this.targets];
    const joint = submatrix(covariance, mean.length, at);
    planned.forEach((a, i) => {
      planned.forEach((b, j) => {
        if (a.cooler !== b.cooler || a.mount !== b.mount) return;
        joint[i * at.length + j] += this.sigma[MOUNT] ** 2 * loading_W[at[i]] * loading_W[at[j]];
      });
      joint[i * at.length + i] += this.sigma[READING] ** 2;
    });
    const rows = planned.map((_, i) => i);
    return given({ mean: new Float64Array(at.length), covariance: joint }, rows, undefined).covariance;
  }

  private kindOf({ cooler, sample, power_W, fan_rpm }: PlannedOnChip): number {
    const found = this.kinds.findIndex(
      (kind) =>
        kind.cooler === cooler &&
        kind.sample === sample &&
        kind.power_W === power_W &&
        kind.fan_rpm === fan_rpm,
    );
    if (found < 0) throw new RangeError(`no kind of run at ${power_W} W was named`);
    return found;
  }
}
