import { rootBetween } from '../numerics/roots.ts';
import type { KnownCooler, SourceSpec } from './cooler-spec.ts';
import { labData } from './lab-data.generated.ts';
import { monotoneSpline } from './monotone-spline.ts';
import type { Conditions, SteadyState, TrueCooler } from './physics.ts';

/** Measured resistances of heat pipes against power, of which the second lab takes the shape. */
export interface CurveData {
  shapes: { source: string; power_W: number[]; resistance_K_per_W: number[] }[];
}

/** A cooler of the second lab: curves as a bench measures them, and no physics behind them. */
export interface CurveSpec extends KnownCooler {
  /** Paste and base under the heater, spreading left out. */
  fixed_K_per_W: number;
  /** Spreading of the heater's heat in the base; another source's grows as one over the root of its area. */
  spreading_K_per_W: number;
  /** How much spreading grows with a source's heat wholly off the middle, as a share of it. */
  off_centre: number;
  /** From base to fins: temperature drop against heat, both rising from 0. */
  transport: { heat_W: readonly number[]; drop_K: readonly number[] };
  /** Where pipes or chamber dry out, all at once: a step, and a slope that adds from there. */
  dry?: { heat_W: number; step_K: number; slope_K_per_W: number };
  /** From fins or coolant to the entering air: resistance against speed over full speed, from low to high. */
  air: { speed: readonly number[]; K_per_W: readonly number[] };
  /** Cold plate: resistance at the loop's own pump speed, how steeply it rises below that, and the coolant's capacity rate there. */
  plate?: { K_per_W: number; exponent: number; capacity_W_per_K: number };
}

/** True steady state of a cooler of the second lab on one source. */
export class CurveCooler implements TrueCooler {
  readonly spec: CurveSpec;
  private readonly series_K_per_W: number;
  private readonly drop: (heat_W: number) => number;
  private readonly air: (speed: number) => number;

  constructor(spec: CurveSpec, source: SourceSpec) {
    this.spec = spec;
    const { heater } = labData;
    const area = (source.width_mm * source.length_mm) / (heater.width_mm * heater.length_mm);
    const spreading =
      (spec.spreading_K_per_W * (1 + (source.off_centre ?? 0) * spec.off_centre)) / Math.sqrt(area);
    this.series_K_per_W = source.internal_K_per_W + spec.fixed_K_per_W + spreading;
    this.drop = monotoneSpline(spec.transport.heat_W, spec.transport.drop_K);
    this.air = monotoneSpline(spec.air.speed, spec.air.K_per_W);
  }

  /** Steady rise, K. */
  rise(conditions: Conditions): number {
    return this.steady(conditions).rise_K;
  }

  /** Whether the heat into the base is at most what the pipes carry before their wick dries. */
  pipesHold(conditions: Conditions): boolean {
    return this.steady(conditions).base_W <= this.limit_W;
  }

  /** The steady state: the heat into the base is where load less leak balances the curves. */
  steady(conditions: Conditions): Pick<SteadyState, 'rise_K' | 'base_W' | 'fins_K' | 'coolantIn_K'> {
    const { spec } = this;
    const air = this.air(Math.max(spec.air.speed[0], conditions.fan_rpm / spec.fan.max_rpm));
    const pump = spec.loop ? (conditions.pump_rpm ?? spec.loop.pump_rpm) / spec.loop.pump_rpm : 1;
    const { plate } = spec;
    const series =
      this.series_K_per_W +
      (conditions.interface_K_per_W ?? 0) +
      (plate ? plate.K_per_W * pump ** -plate.exponent : 0);
    const riseAt = (heat: number) => heat * (series + air) + this.drop(heat) + this.dried(heat);
    const leak = conditions.leak_W_per_K ?? 0;
    const { power_W } = conditions;
    const excess = (heat_W: number) => heat_W + leak * riseAt(heat_W) - power_W;
    const heat = leak > 0 ? rootBetween(excess, 0, power_W, 1e-9) : power_W;
    const fins_K = heat * air;
    const coolantIn_K = plate ? fins_K - heat / (plate.capacity_W_per_K * pump) : 0;
    return { rise_K: riseAt(heat), base_W: heat, fins_K, coolantIn_K };
  }

  /** Heat at which the wick dries, W. */
  private get limit_W(): number {
    const { dry, pipes } = this.spec;
    if (!dry) return Number.POSITIVE_INFINITY;
    return pipes ? pipes.count * pipes.limit_W : dry.heat_W;
  }

  /** The step is passed within 1 % of the heat at which the wick dries. */
  private dried(heat: number): number {
    const { limit_W: limit } = this;
    const { dry } = this.spec;
    if (!dry) return 0;
    const beyond = heat - limit;
    return beyond <= 0 ? 0 : dry.step_K * Math.min(1, beyond / (0.01 * limit)) + dry.slope_K_per_W * beyond;
  }
}
