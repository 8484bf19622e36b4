import type { Doubted } from '../answers/text/answer.ts';
import type { Bench } from '../bench/bench.ts';
import { groupedBy } from '../bench/grouped.ts';
import { riseOf } from '../bench/run.ts';
import { knownSource, temperatureLimit } from '../bench/source.ts';
import { aboveInlet } from '../compare/above-inlet.ts';
import { compareSteps } from '../compare/compare.ts';
import type { BenchPosterior } from '../fit/bench-posterior.ts';
import { chipPosterior } from '../fit/chip-posterior.ts';
import { restorePosterior } from '../fit/compact.ts';
import { restoreTerm } from '../fit/compact-term.ts';
import { MOUNT, READING, SAMPLE } from '../fit/components.ts';
import { sessionDoubt } from '../months/differences-in-doubt.ts';
import { finished, type InSteps } from '../numerics/in-steps.ts';
import { mixtureMean } from '../numerics/mixture.ts';
import { coolersAtSpeed, leastSpeedOf, soundOf } from '../predict/at-conditions.ts';
import type { Conditions } from '../predict/conditions.ts';
import { byHeaterCurves } from '../predict/joint-rises.ts';
import {
  type MeanRise,
  meanRises,
  meanRisesAtSpeeds,
  type Prediction,
  predictFrom,
} from '../predict/predict.ts';
import { riseDistributions } from '../predict/rise-distribution.ts';
import { pointOfRun } from '../predict/rise-point.ts';
import type { SourceLimit } from '../predict/source-limits.ts';
import { sourceLimits } from '../predict/source-limits.ts';
import { soundAtSpeed } from '../sound/fan-sound.ts';
import { unpackBench } from './bench-pack.ts';
import { curveLoads, type LoadSpan, loadSpan } from './loads.ts';
import type { PageData } from './page-data.ts';

/** A cooler's curve over the grid of loads. */
export interface CoolerCurve<Point = MeanRise> {
  cooler: string;
  /** Place in the bench's list of coolers, which gives its mark and colour. */
  place: number;
  points: Point[];
}

/** A run beside what the cooler's mean curve says, the sensors' offset taken off both. */
export interface RunResidual {
  run: string;
  cooler: string;
  place: number;
  power_W: number;
  fan_rpm: number;
  rise_K: number;
  residual_K: number;
}

/** How a cooler's rise at one load goes with its sound, from its least stable to its greatest speed. */
export interface SoundCurve {
  cooler: string;
  place: number;
  points: {
    fan_rpm: number;
    sound_dBA: number;
    rise_K: number;
    low_K: number;
    high_K: number;
    extrapolated: boolean;
    /** Whether it has a mark: the others only keep the curve smooth. */
    marked: boolean;
  }[];
}

/** Points of a curve of rise against sound, of which every second is marked. */
const SOUND_POINTS = 17;
/** Loads at which bands are evaluated while a control moves (the drawing is smooth between them) and at rest, and at which every pair is. */
const ROUGH_LOADS = 8;
const CURVE_LOADS = 22;
const ORDER_LOADS = 38;

/**
 * A bench that answers at any condition: the functions of the command line over the posteriors that the page holds.
 *
 * What depends only on the condition (speed, source, level) is kept for the conditions asked for last.
 */
export class Answers {
  readonly data: PageData;
  readonly bench: Bench;
  /** Every cooler with runs, in the bench's order: its place gives its mark and colour. */
  readonly places: ReadonlyMap<string, number>;
  /** What the page holds, by source: nothing is fitted here. */
  readonly #fitted: ReadonlyMap<string, BenchPosterior>;
  readonly #kept = new Map<string, unknown>();
  /** What was begun and is not there yet, by the same names. */
  readonly #begun = new Map<string, InSteps<unknown>>();

  constructor(data: PageData) {
    this.data = data;
    this.bench = unpackBench(data.bench);
    this.#fitted = new Map(data.posteriors.map((one) => [one.source, restorePosterior(one, this.bench)]));
    const names = this.bench.coolers.map((one) => one.cooler);
    this.places = new Map(names.map((name, i) => [name, i]));
  }

  /** Sources that answers can be had for, the heater first where it was run. */
  get sources(): string[] {
    const chips = this.bench.chips.map((one) => one.chip);
    return this.#fitted.has('heater') ? ['heater', ...chips] : [...this.#fitted.keys()];
  }

  posterior(source = 'heater'): BenchPosterior {
    const heater = this.#fitted.get('heater');
    if (source !== 'heater') knownSource(this.bench, source);
    if (!heater || source === 'heater') return this.#held(source);
    return this.#keep(`posterior ${source}`, () => {
      const term = restoreTerm(this.data.terms[source], heater, source);
      return chipPosterior(heater, source, term, (chip) => this.#held(chip));
    });
  }

  #held(source: string): BenchPosterior {
    const posterior = this.#fitted.get(source);
    if (!posterior) throw new RangeError(`the page holds no fit of runs on ${source}`);
    return posterior;
  }

  /** Least and greatest load run of every cooler. */
  run_W(source?: string): number[] {
    return this.posterior(source).coolers.flatMap(({ data }) => [data.powerLow_W, data.powerHigh_W]);
  }

  span({ source }: Conditions): LoadSpan {
    return loadSpan(this.run_W(source), this.data.asked.power_W ?? []);
  }

  /** The comparison at one load. */
  at(conditions: Conditions, power_W: number): Doubted {
    return finished(this.#compare({ ...conditions, power_W: [power_W] }));
  }

  /** The comparison over all loads of the page. */
  overLoads(conditions: Conditions): Doubted {
    return finished(this.overLoadsInSteps(conditions));
  }

  overLoadsInSteps(conditions: Conditions): InSteps<Doubted> {
    return this.#keepInSteps(`order ${conditionName(conditions)}`, () => {
      const power_W = curveLoads(this.span(conditions), ORDER_LOADS);
      return this.#compare({ ...conditions, power_W });
    });
  }

  /** The comparison at one load, found once: for conditions that stand beside those of the controls. */
  keptAt(conditions: Conditions, power_W: number): Doubted {
    return finished(this.keptAtInSteps(conditions, power_W));
  }

  keptAtInSteps(conditions: Conditions, power_W: number): InSteps<Doubted> {
    return this.#keepInSteps(`at ${power_W} ${conditionName(conditions)}`, () =>
      this.#compare({ ...conditions, power_W: [power_W] }),
    );
  }

  /** Temperature limit of a source, where it has one. */
  limit_C(source: string): number | undefined {
    return temperatureLimit(this.bench, source);
  }

  /** The load at which the source reaches its limit, for every cooler. */
  limits(conditions: Conditions): SourceLimit[] {
    return finished(this.limitsInSteps(conditions));
  }

  limitsInSteps(conditions: Conditions): InSteps<SourceLimit[]> {
    return this.#keepInSteps(`limits ${conditionName(conditions)}`, () =>
      this.#eachCooler(conditions, (asked) => sourceLimits(this.posterior(conditions.source), asked)),
    );
  }

  /** What is asked of one cooler after another, those at the conditions. */
  *#eachCooler<T>(conditions: Conditions, ask: (asked: Conditions) => readonly T[]): InSteps<T[]> {
    const found: T[] = [];
    for (const { cooler } of coolersAtSpeed(this.posterior(conditions.source), conditions).coolers) {
      found.push(...ask({ ...conditions, coolers: [cooler.data.cooler.cooler] }));
      yield;
    }
    return found;
  }

  *#compare(conditions: Conditions): InSteps<Doubted> {
    const posterior = this.posterior(conditions.source);
    const result = aboveInlet(yield* compareSteps(posterior, conditions), conditions);
    const doubt = sessionDoubt(this.bench, posterior, result.pairs, this.data.outOfControl);
    return doubt ? { ...result, session_doubt: doubt } : result;
  }

  /**
   * Rise against load of every cooler.
   *
   * @param rough  at fewer loads, for a control that moves
   */
  curves(conditions: Conditions, rough = false): CoolerCurve[] {
    return finished(this.curvesInSteps(conditions, rough));
  }

  curvesInSteps(conditions: Conditions, rough = false): InSteps<CoolerCurve[]> {
    return this.#keepInSteps(`curves ${rough} ${conditionName(conditions)}`, () =>
      this.#findCurves(conditions, rough),
    );
  }

  *#findCurves(conditions: Conditions, rough: boolean): InSteps<CoolerCurve[]> {
    const posterior = this.posterior(conditions.source);
    const { from_W, to_W } = this.span(conditions);
    const rises = (power_W: readonly number[]): InSteps<MeanRise[]> =>
      this.#eachCooler(conditions, (asked) => meanRises(posterior, { ...asked, power_W }));
    if (rough) {
      const step = (to_W - from_W) / (ROUGH_LOADS - 1);
      const power_W = Array.from({ length: ROUGH_LOADS }, (_, k) => from_W + k * step);
      return this.#byCooler(yield* rises(power_W));
    }
    // Where the runs of a cooler end, lines and bands have a corner.
    const coarse = [
      ...new Set([...curveLoads(this.span(conditions), CURVE_LOADS), ...this.run_W(conditions.source)]),
    ];
    const first = yield* rises(coarse);
    const curves = this.#byCooler(first);
    const fine = bends(curves.map(({ points }) => points)).filter((P) => !coarse.includes(P));
    if (fine.length === 0) return curves;
    const all = [...first, ...(yield* rises(fine))];
    return this.#byCooler(all.sort((a, b) => a.power_W - b.power_W));
  }

  /** The same with what a fresh run would read, for the table. */
  curvesWithRuns(conditions: Conditions): CoolerCurve<Prediction>[] {
    return this.#keep(`runs ${conditionName(conditions)}`, () => {
      const power_W = this.curves(conditions)[0].points.map((p) => p.power_W);
      return this.#byCooler(
        predictFrom(this.posterior(conditions.source), { ...conditions, power_W }).predictions,
      );
    });
  }

  #byCooler<Point extends MeanRise>(rises: readonly Point[]): CoolerCurve<Point>[] {
    return [...groupedBy(rises, (one) => one.cooler)].map(([cooler, points]) => ({
      cooler,
      place: this.places.get(cooler) ?? 0,
      points,
    }));
  }

  /** Whether any cooler was metered. */
  get hasSound(): boolean {
    return this.bench.noise.length > 0 || this.bench.runs.some((run) => run.sound_dBA !== undefined);
  }

  get background_dBA(): number | undefined {
    return this.bench.instruments.sound_level.background_dBA;
  }

  /** Metered levels that the coolers reach, least and greatest. */
  soundRange(): { low_dBA: number; high_dBA: number } {
    return this.#keep('sound range', () => {
      const levels = this.posterior(this.sources[0]).coolers.flatMap((one) => {
        const law = soundOf(this.bench).laws.get(one.data.cooler.cooler);
        if (!law) return [];
        const ends = [leastSpeedOf(one, law).fan_rpm, one.data.cooler.fan_max_rpm];
        return ends.filter((n) => n > 0).map((n) => soundAtSpeed(law, n).metered_dBA);
      });
      const floor = this.background_dBA === undefined ? 0 : Math.floor(this.background_dBA) + 1;
      return {
        low_dBA: Math.max(floor, Math.floor(Math.min(...levels, 60))),
        high_dBA: Math.ceil(Math.max(...levels, floor + 1)),
      };
    });
  }

  /**
   * Rise against sound at one load, for the coolers that were metered, whatever speed the conditions have.
   *
   * @param rough  at the marked points alone, for a control that moves
   */
  soundCurves(
    { sound_dBA: _sound, fan_percent: _share, fan_rpm: _rpm, ...rest }: Conditions,
    power_W: number,
    rough = false,
  ): SoundCurve[] {
    const name = `sound ${rough} ${power_W} ${conditionName(rest)}`;
    return this.#keep(name, () => this.#soundCurvesAt(rest, power_W, rough ? 2 : 1));
  }

  #soundCurvesAt(conditions: Conditions, power_W: number, step: number): SoundCurve[] {
    const posterior = this.posterior(conditions.source);
    const { laws } = soundOf(this.bench);
    return posterior.coolers.flatMap((cooler) => {
      const { cooler: name, fan_max_rpm } = cooler.data.cooler;
      const law = laws.get(name);
      if (!law || !(fan_max_rpm > 0)) return [];
      if (conditions.coolers && !conditions.coolers.includes(name)) return [];
      const least = leastSpeedOf(cooler, law).fan_rpm;
      const speeds = Array.from(
        { length: (SOUND_POINTS - 1) / step + 1 },
        (_, k) => least * (fan_max_rpm / least) ** ((k * step) / (SOUND_POINTS - 1)),
      );
      const metered_dBA = this.#keep(`metered ${name} ${step} ${least}`, () =>
        speeds.map((fan_rpm) => soundAtSpeed(law, fan_rpm).metered_dBA),
      );
      const asked = { ...conditions, coolers: [name], power_W: [power_W] };
      const points = meanRisesAtSpeeds(posterior, asked, speeds).map((one, k) => ({
        fan_rpm: one.fan_rpm,
        sound_dBA: metered_dBA[k],
        rise_K: one.rise_K,
        low_K: one.mean_low_K,
        high_K: one.mean_high_K,
        extrapolated: one.extrapolated,
        marked: (k * step) % 2 === 0,
      }));
      return [{ cooler: name, place: this.places.get(name) ?? 0, points }];
    });
  }

  /** Every run of the source beside its cooler's mean curve at the run's own load and speed. */
  residuals(conditions: Conditions): RunResidual[] {
    return this.#keep(`residuals ${conditions.source}`, () => {
      const posterior = this.posterior(conditions.source);
      return posterior.coolers.flatMap((cooler) => {
        const { data, notRunOn } = cooler;
        if (notRunOn !== undefined) return [];
        return data.runs.map((run, i): RunResidual => {
          const [at] = riseDistributions(posterior, cooler, [pointOfRun(data, i)]);
          // What its own session adds is off the heater's rises already; what a chip's sensor adds is not.
          const told_K = data.rise_K[i] - (byHeaterCurves(posterior, cooler) ? at.runShift_K : 0);
          return {
            run: run.run,
            cooler: data.cooler.cooler,
            place: this.places.get(data.cooler.cooler) ?? 0,
            power_W: run.power_W,
            fan_rpm: run.fan_rpm,
            rise_K: riseOf(run),
            residual_K: told_K - mixtureMean(at.mean),
          };
        });
      });
    });
  }

  /** Standard deviation of one reading of a fresh mount of a fresh sample about the mean, K. */
  freshScatter(conditions: Conditions, power_W: number): number {
    const { sigma } = this.posterior(conditions.source).scatter;
    return Math.hypot(sigma[MOUNT] * power_W, sigma[SAMPLE] * power_W, sigma[READING]);
  }

  /** What `find` gives for this name, found once; of a hundred that is dropped which was asked for longest ago. */
  #keep<T>(name: string, find: () => T): T {
    const value = this.#kept.has(name) ? (this.#kept.get(name) as T) : find();
    hold(this.#kept, name, value, 100);
    return value;
  }

  /** The same in steps; what somebody has begun is taken up where it was left. */
  *#keepInSteps<T>(name: string, find: () => InSteps<T>): InSteps<T> {
    while (!this.#kept.has(name)) {
      const steps = this.#begun.get(name) ?? find();
      hold(this.#begun, name, steps, 6);
      const { done, value } = steps.next();
      if (done) {
        this.#begun.delete(name);
        hold(this.#kept, name, value, 100);
      } else yield;
    }
    return this.#keep(name, () => finished(find()));
  }
}

/** Puts a value in as the newest of at most so many. */
function hold<T>(map: Map<string, T>, name: string, value: T, most: number): void {
  map.delete(name);
  if (map.size >= most) map.delete(map.keys().next().value as string);
  map.set(name, value);
}

/** How far a curve may leave the straight line between its points, as a share of the greatest rise run: half a pixel or so. */
const STRAIGHT = 0.002;

/** Loads between those of curves at which some curve bends so much that straight lines would show. */
function bends(curves: readonly (readonly MeanRise[])[]): number[] {
  const within = curves.flatMap((curve) => curve.filter((p) => !p.extrapolated).map((p) => p.rise_K));
  const most = STRAIGHT * Math.max(1, ...within);
  const found = new Set<number>();
  for (const curve of curves) {
    for (let i = 1; i + 1 < curve.length; i++) {
      const [a, b, c] = [curve[i - 1], curve[i], curve[i + 1]];
      const share = (b.power_W - a.power_W) / (c.power_W - a.power_W);
      const off = Math.max(
        ...(['rise_K', 'mean_high_K'] as const).map((key) =>
          Math.abs(b[key] - a[key] - share * (c[key] - a[key])),
        ),
      );
      // A parabola leaves its chord by a quarter of that half way.
      if (off / 4 <= most) continue;
      found.add((a.power_W + b.power_W) / 2);
      found.add((b.power_W + c.power_W) / 2);
    }
  }
  return [...found].sort((a, b) => a - b);
}

/** A name for everything about a condition that a comparison depends on, the load left out. */
export function conditionName(conditions: Conditions): string {
  const { power_W: _load, ...rest } = conditions;
  return JSON.stringify(Object.entries(rest).sort(([a], [b]) => (a < b ? -1 : 1)));
}
