import { cholesky, takeTold } from '../numerics/matrix.ts';
import { relativeSpeed } from '../posterior/cooler-runs.ts';
import { MOUNT, READING, SAMPLE } from '../posterior/scatter.ts';
import { errorsOfRun, type HeatPoint, risesAtHeat } from './chip-runs.ts';
import { ownCovariance, type SourceTerm } from './source-term.ts';
import { errorsOfMean, settleHeat } from './swapped-distributions.ts';

/** A cooler that is asked for: its place among the heater's, and its fan speed over its greatest. */
export interface AskedOnChip {
  readonly index: number;
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
 * Rises and readings are linear in errors that are independent: of the heater's curves, of the chip's term and its scatter between coolers, of
 * sensor, power and leak, of samples, fittings and readings. Their joint covariance given the runs done is worked out once for all kinds of runs
 * that may be planned; what a plan leaves is then one conditioning on its own runs, all coolers together, since a run of one cooler tells of the
 * term that the others have too. Scatters and the prior of the term are kept as they are known now.
 */
export class ChipForecast {
  /** Coolers times loads. */
  readonly size: number;
  private readonly kinds: readonly KindOfRun[];
  private readonly base_W: Float64Array;
  private readonly damping: Float64Array;
  /** Covariances given the runs done: kinds × kinds (fittings and readings apart), kinds × targets, targets × targets. */
  private readonly kindKind: Float64Array;
  private readonly kindTarget: Float64Array;
  private readonly now: Float64Array;
  private readonly sigma: readonly number[];

  /**
   * @param asked  each at every load of `power_W`
   * @param kinds  every kind of run that will be planned
   */
  constructor(
    term: SourceTerm,
    asked: readonly AskedOnChip[],
    power_W: readonly number[],
    kinds: readonly KindOfRun[],
  ) {
    const { heater, runs, shared, uncertainty, coolerVariance, leak_W_per_K, prior } = term;
    this.kinds = kinds;
    this.sigma = heater.scatter.sigma;
    const done = runs.runs.length;
    const targets = asked.length * power_W.length;
    this.size = targets;
    const items = done + kinds.length + targets;
    const covariance = new Float64Array(items * items);
    const errors: Float64Array[] = Array.from({ length: items }, () => new Float64Array(shared.count));
    this.base_W = new Float64Array(kinds.length);
    this.damping = new Float64Array(kinds.length);
    asked.forEach(({ index, speed }, c) => {
      const cooler = heater.coolers[index];
      const { data } = cooler;
      const delta = prior.value_K_per_W(data.cooler);
      const ownDone = runs.cooler.flatMap((other, i) => (other === index ? [i] : []));
      const ownKinds = kinds.flatMap((kind, k) => (kind.cooler === c ? [k] : []));
      const ahead = ownKinds.map((k): HeatPoint => {
        const { sample, fan_rpm, power_W: power } = kinds[k];
        const isOnHeater = data.runs.some((own) => own.sample === sample);
        const point = { base_W: power, speed: relativeSpeed(data.cooler, fan_rpm) };
        return isOnHeater ? { ...point, sample } : point;
      });
      const wanted = power_W.map((power): HeatPoint => ({ base_W: power, speed }));
      settleHeat(
        heater,
        cooler,
        ahead,
        ownKinds.map((k) => kinds[k].power_W),
        leak_W_per_K,
        delta,
      );
      settleHeat(heater, cooler, wanted, power_W, leak_W_per_K, delta);
      const points = [...ownDone.map((i) => runs.points[i]), ...ahead, ...wanted];
      const joint = risesAtHeat(heater, cooler, points);
      const place = [
        ...ownDone,
        ...ownKinds.map((k) => done + k),
        ...power_W.map((_, l) => done + kinds.length + c * power_W.length + l),
      ];
      // A reading answers to the heat that leaks past the base, a true rise at a given load gives some of it back.
      const scale = points.map((_, t) => {
        const damping = 1 + leak_W_per_K * (joint.slope_K_per_W[t] + delta);
        return t < points.length - power_W.length ? 1 : 1 / damping;
      });
      const sampleOf = [...ownDone.map((i) => runs.runs[i].sample), ...ownKinds.map((k) => kinds[k].sample)];
      points.forEach((a, s) => {
        points.forEach((b, t) => {
          const isShared = sampleOf[s] !== undefined && sampleOf[s] === sampleOf[t] && a.sample === undefined;
          const own = coolerVariance[index] + (isShared ? this.sigma[SAMPLE] ** 2 : 0);
          covariance[place[s] * items + place[t]] =
            scale[s] * scale[t] * (joint.covariance[s * points.length + t] + own * a.base_W * b.base_W);
        });
      });
      ownKinds.forEach((k, s) => {
        const t = ownDone.length + s;
        const slope = joint.slope_K_per_W[t] + delta;
        this.base_W[k] = points[t].base_W;
        this.damping[k] = 1 + leak_W_per_K * slope;
        errors[done + k] = errorsOfRun(heater, shared, joint, t, {
          base_W: points[t].base_W,
          rise_K: joint.mean[t] + points[t].base_W * delta,
          power_W: kinds[k].power_W,
          slope_K_per_W: slope,
          damping: this.damping[k],
          baseEffect_K_per_W: prior.baseEffect_K_per_W(data.cooler),
          session: term.presentSession,
        });
      });
      power_W.forEach((_, l) => {
        const t = points.length - power_W.length + l;
        const heat = points[t].base_W;
        const item = done + kinds.length + c * power_W.length + l;
        errors[item] = errorsOfMean(term, index, joint, t, heat, joint.mean[t] + heat * delta);
      });
    });
    // The runs done, with those of coolers that are not asked for, as the term has them.
    const own = ownCovariance(runs, coolerVariance);
    for (let i = 0; i < done; i++) {
      errors[i].set(runs.design.subarray(i * shared.count, (i + 1) * shared.count));
      for (let j = 0; j < done; j++) covariance[i * items + j] = own[i * done + j];
    }
    for (let s = 0; s < items; s++) {
      for (let t = 0; t < items; t++) {
        let sum = 0;
        for (let k = 0; k < shared.count; k++) sum += errors[s][k] * errors[t][k] * uncertainty[k] ** 2;
        covariance[s * items + t] += sum;
      }
    }
    const block = (fromRow: number, rows: number, fromColumn: number, columns: number) =>
      Float64Array.from(
        { length: rows * columns },
        (_, k) => covariance[(fromRow + Math.floor(k / columns)) * items + fromColumn + (k % columns)],
      );
    const among = block(0, done, 0, done);
    if (!cholesky(among, done)) throw new RangeError('the covariance of the runs cannot be inverted');
    const rest = items - done;
    const given = block(done, rest, done, rest);
    takeTold(given, rest, among, done, block(0, done, done, rest));
    for (let s = 0; s < rest; s++)
      for (let t = 0; t < rest; t++) covariance[(done + s) * items + done + t] = given[s * rest + t];
    const [firstKind, firstTarget] = [done, done + kinds.length];
    this.kindKind = block(firstKind, kinds.length, firstKind, kinds.length);
    this.kindTarget = block(firstKind, kinds.length, firstTarget, targets);
    this.now = block(firstTarget, targets, firstTarget, targets);
  }

  /**
   * Covariance of the true rises once some runs are done, coolers times loads, cooler by cooler, K².
   *
   * @throws RangeError for a run of a kind that was not named
   */
  after(planned: readonly PlannedOnChip[]): Float64Array {
    const out = this.now.slice();
    const m = planned.length;
    if (m === 0) return out;
    const kind = planned.map((one) => this.kindOf(one));
    const count = this.kinds.length;
    const factor = new Float64Array(m * m);
    for (let i = 0; i < m; i++) {
      const a = kind[i];
      for (let j = 0; j < m; j++) {
        const b = kind[j];
        const isOneFitting = planned[i].cooler === planned[j].cooler && planned[i].mount === planned[j].mount;
        factor[i * m + j] =
          this.kindKind[a * count + b] +
          (isOneFitting ? this.sigma[MOUNT] ** 2 * this.base_W[a] * this.base_W[b] : 0);
      }
      factor[i * m + i] += (this.damping[a] * this.sigma[READING]) ** 2;
    }
    if (!cholesky(factor, m)) throw new RangeError('the covariance of the planned runs cannot be inverted');
    const { size } = this;
    const cross = new Float64Array(m * size);
    kind.forEach((k, i) => {
      cross.set(this.kindTarget.subarray(k * size, (k + 1) * size), i * size);
    });
    takeTold(out, size, factor, m, cross);
    return out;
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
