import type { CoolerSpec, KnownCooler, SourceSpec } from './cooler-spec.ts';
import { operatingFlow } from './fan.ts';
import { air, water } from './fluids.ts';
import { PipeRow, type PipeState } from './heat-pipes.ts';
import {
  channelNusselt,
  crossFlowEffectiveness,
  finEfficiency,
  laminarPlates,
  laminarTube,
  plateSpreading,
  stillAirConductance,
  wallToStream,
} from './heat-transfer.ts';

/** Conditions of one steady state. */
export interface Conditions {
  /** Heat put into the source, W: what leaks away included. */
  power_W: number;
  fan_rpm: number;
  /** Temperature of the air entering the fans (22 °C). */
  ambient_C?: number;
  pressure_hPa?: number;
  /** What the source loses past the cooler, per kelvin of rise (0). */
  leak_W_per_K?: number;
  /** Resistance in series at the interface, of this sample, mount and paste (0). */
  interface_K_per_W?: number;
  /** Default: the loop's own. */
  pump_rpm?: number;
}

/** A steady state with its parts. */
export interface SteadyState {
  rise_K: number;
  /** Heat into the base and heat that leaks past it. */
  base_W: number;
  leak_W: number;
  /** Heat that each part of the air side takes; their sum is `base_W`. */
  stream_W: number;
  still_W: number;
  airflow_m3_per_s: number;
  /** Capacity rate of the air in the channels, W/K. */
  airCapacity_W_per_K: number;
  /** Base of the fins, or the coolant that enters the radiator, above ambient, K. */
  fins_K: number;
  /** Coolant that enters the cold plate above ambient, K; 0 without a loop. The coolant that leaves it is at `fins_K`. */
  coolantIn_K: number;
  /** From base to fins, K. */
  pipes_K: number;
  /** Heat of each kind of pipe, middle first. */
  pipe_W: number[];
}

/** A cooler of either lab as it truly is. */
export interface TrueCooler {
  readonly spec: KnownCooler;
  /** True rise of the source above ambient, K. */
  rise(conditions: Conditions): number;
  /** Whether the pipes, if it has any, carry the heat without reaching their limit. */
  pipesHold(conditions: Conditions): boolean;
  steady(conditions: Conditions): Pick<SteadyState, 'rise_K' | 'fins_K' | 'coolantIn_K'>;
}

const standardPressure_hPa = 1013.25;
const room_C = 22;

/** The vapour of the pipes is a little warmer than the fins. */
function vapour_C(ambient_C: number, fins_K: number): number {
  return ambient_C + fins_K + 3;
}

/**
 * One virtual cooler on one source: its true steady state from its sizes.
 *
 * Heat goes from the source through paste and base, by heat pipes, base conduction or coolant to the fins, and from there into a stream whose
 * flow is where the fan's curve meets the channels' loss, and (little) into still air and the walls. Heat transfer in the channels
 * follows from the flow, air and coolant properties from the temperatures, and the leak takes its part in proportion to the rise; these depend on
 * each other, so one loop repeats until the rise stands still within 1e-8 K.
 *
 * It knows nothing of the formulas that are fitted to its results.
 */
export class VirtualCooler implements TrueCooler {
  readonly spec: CoolerSpec;
  private readonly pipes: PipeRow | undefined;
  private readonly sourceArea: number;
  private readonly baseArea: number;
  private readonly fixed_K_per_W: number;
  private readonly flowArea: number;
  private readonly finArea: number;
  private readonly envelope: number;
  private readonly state: SteadyState;

  constructor(spec: CoolerSpec, source: SourceSpec) {
    this.spec = spec;
    const { base, fins } = spec;
    if ((spec.kind === 'liquid') !== (spec.loop !== undefined))
      throw new RangeError(`${spec.cooler}: a liquid cooler, and only that, has a loop`);
    this.pipes = spec.pipes ? new PipeRow(spec.pipes) : undefined;
    this.baseArea = base.width_mm * base.length_mm * 1e-6;
    this.sourceArea = Math.min(
      this.baseArea,
      Math.min(source.width_mm, base.width_mm) * Math.min(source.length_mm, base.length_mm) * 1e-6,
    );
    this.fixed_K_per_W =
      source.internal_K_per_W +
      (base.paste_um * 1e-6) / (base.paste_W_per_mK * this.sourceArea) +
      (base.thickness_mm * 1e-3) / (base.conductivity_W_per_mK * this.baseArea);
    this.flowArea = fins.count * fins.gap_mm * fins.width_mm * 1e-6;
    this.finArea = 2 * fins.count * fins.depth_mm * fins.width_mm * 1e-6;
    const stackHeight = fins.count * (fins.gap_mm + fins.thickness_mm);
    this.envelope =
      2e-6 * (stackHeight * fins.width_mm + stackHeight * fins.depth_mm + fins.width_mm * fins.depth_mm);
    this.state = {
      rise_K: 0,
      base_W: 0,
      leak_W: 0,
      stream_W: 0,
      still_W: 0,
      airflow_m3_per_s: 0,
      airCapacity_W_per_K: 0,
      fins_K: 0,
      coolantIn_K: 0,
      pipes_K: 0,
      pipe_W: [],
    };
  }

  /** True rise of the source above ambient, K. */
  rise(conditions: Conditions): number {
    this.solve(conditions);
    return this.state.rise_K;
  }

  /** The steady state with its parts. */
  steady(conditions: Conditions): SteadyState {
    const pipes = this.solve(conditions);
    return { ...this.state, pipe_W: pipes ? [...pipes.heat_W] : [] };
  }

  /** Whether the mean pipe carries its heat without reaching its limit. */
  pipesHold(conditions: Conditions): boolean {
    const state = this.solve(conditions);
    if (!state || !this.pipes) return true;
    const { multiplicity } = this.pipes;
    const count = multiplicity.reduce((sum, copies) => sum + copies, 0);
    const mean_W = state.heat_W.reduce((sum, heat, k) => sum + multiplicity[k] * heat, 0) / count;
    return mean_W <= this.pipes.limit_W(vapour_C(conditions.ambient_C ?? room_C, this.state.fins_K));
  }

  /** Pipes of each kind in `SteadyState.pipe_W`. */
  get pipeMultiplicity(): number[] {
    return this.pipes ? [...this.pipes.multiplicity] : [];
  }

  /** Flow through all fans, m³/s, with the channel at a film temperature. */
  private flow(speed: number, inlet_C: number, film_C: number, pressure_hPa: number): number {
    const { fins, fan } = this.spec;
    const through = 1 - fins.bypass;
    const inletDensity = air(inlet_C, pressure_hPa).density_kg_per_m3;
    const film = air(film_C, pressure_hPa);
    const diameter = 2e-3 * fins.gap_mm;
    const laminar =
      (48 * film.viscosity_Pas * fins.depth_mm * 1e-3 * through) / (this.flowArea * diameter * diameter);
    const turbulent = fins.loss_heads * 0.5 * film.density_kg_per_m3 * (through / this.flowArea) ** 2;
    return operatingFlow(fan, speed, laminar, turbulent, inletDensity / 1.2);
  }

  /** Conductance of the fins to the air in the channels, W/K, efficiency included. */
  private finConductance(channelFlow: number, film_C: number, pressure_hPa: number): number {
    if (channelFlow <= 0) return 0;
    const { fins } = this.spec;
    const film = air(film_C, pressure_hPa);
    const diameter = 2e-3 * fins.gap_mm;
    const reynolds = (film.density_kg_per_m3 * channelFlow * diameter) / (this.flowArea * film.viscosity_Pas);
    const nusselt = channelNusselt(laminarPlates, reynolds, film.prandtl, (fins.depth_mm * 1e-3) / diameter);
    const h = (nusselt * film.conductivity_W_per_mK) / diameter;
    const efficiency = finEfficiency(
      h,
      fins.span_mm * 1e-3,
      fins.conductivity_W_per_mK,
      fins.thickness_mm * 1e-3,
    );
    return efficiency * h * this.finArea;
  }

  /** The air's part at a rise of the fins: flow, heat capacity rate in the channels, conductance of the fins and of still air, W/K. */
  private airSide(speed: number, ambient: number, finsRise: number, film: number, pressure: number) {
    const { fins } = this.spec;
    const flow = this.flow(speed, ambient, film, pressure);
    const channelFlow = flow * (1 - fins.bypass);
    const inlet = air(ambient, pressure);
    const still = stillAirConductance(
      ambient + finsRise,
      ambient,
      pressure,
      fins.gap_mm * 1e-3,
      Math.min(fins.width_mm, fins.depth_mm) * 1e-3,
      this.finArea,
      this.envelope,
      fins.emissivity,
    );
    return {
      flow,
      capacity: inlet.density_kg_per_m3 * inlet.heat_J_per_kgK * channelFlow,
      finUA: this.finConductance(channelFlow, film, pressure),
      still,
    };
  }

  private solve(conditions: Conditions): PipeState | undefined {
    const { spec, state, pipes } = this;
    const ambient = conditions.ambient_C ?? room_C;
    const pressure = conditions.pressure_hPa ?? standardPressure_hPa;
    const leak = conditions.leak_W_per_K ?? 0;
    const speed = conditions.fan_rpm / spec.fan.max_rpm;
    const pipeState = pipes?.fresh();
    const power = conditions.power_W;
    let rise = 0.25 * power;
    let finsRise = 0.1 * power;
    for (let pass = 0; pass < 100; pass++) {
      const heat = Math.max(0, power - leak * rise);
      const film = ambient + 0.6 * finsRise;
      const { flow, capacity, finUA, still } = this.airSide(speed, ambient, finsRise, film, pressure);
      const loop = spec.loop && this.loopSide(conditions, ambient + finsRise, finUA, capacity);
      const stream = loop ? loop.stream_W_per_K : wallToStream(finUA, capacity);
      const plate_K = loop ? loop.plate_K_per_W * heat : 0;
      const nextFins = heat / (stream + still);
      const drop = pipes && pipeState ? pipes.solve(heat, vapour_C(ambient, nextFins), pipeState) : 0;
      const beyond = heat > 0 ? (nextFins + drop + plate_K) / heat : 0;
      const spreading = plateSpreading(
        this.sourceArea,
        this.baseArea,
        spec.base.thickness_mm * 1e-3,
        spec.base.conductivity_W_per_mK,
        beyond,
      );
      const series = this.fixed_K_per_W + spreading + (conditions.interface_K_per_W ?? 0);
      const nextRise = nextFins + drop + plate_K + heat * series;
      const change = Math.abs(nextRise - rise) + Math.abs(nextFins - finsRise);
      rise = nextRise;
      // Still air strengthens with the rise (up to in proportion), so the part that it takes would swing: step the shorter the larger it is.
      finsRise += (nextFins - finsRise) / (1 + still / (stream + still));
      state.airflow_m3_per_s = flow;
      state.airCapacity_W_per_K = capacity;
      state.stream_W = stream * nextFins;
      state.still_W = still * nextFins;
      state.base_W = heat;
      state.fins_K = nextFins;
      state.coolantIn_K = loop ? nextFins - heat / loop.coolant_W_per_K : 0;
      state.pipes_K = drop;
      if (change < 1e-8) break;
    }
    state.rise_K = rise;
    state.leak_W = power - state.base_W;
    return pipeState;
  }

  /**
   * Cold plate and radiator: the conductance from the coolant that enters the radiator to the entering air, and what the plate has above that coolant.
   *
   * The plate is a wall at one temperature in a stream, the radiator a cross-flow exchanger; the coolant that leaves the plate enters the radiator hotter
   * than it left it by heat over its capacity rate.
   */
  private loopSide(
    conditions: Conditions,
    coolant_C: number,
    finUA: number,
    airCapacity: number,
  ): { stream_W_per_K: number; plate_K_per_W: number; coolant_W_per_K: number } {
    const loop = this.spec.loop!;
    const speed = (conditions.pump_rpm ?? loop.pump_rpm) / loop.pump_rpm;
    const cool = water(Math.min(95, coolant_C - 2), loop.viscosity_ratio);
    const laminar = (loop.laminar_kPa_per_L_per_min * cool.viscosity_Pas) / 1.002e-3;
    const square = loop.turbulent_kPa_per_L2_per_min2 + loop.head_kPa / loop.free_flow_L_per_min ** 2;
    const litres =
      (-laminar + Math.sqrt(laminar * laminar + 4 * square * loop.head_kPa * speed * speed)) / (2 * square);
    const flow = litres / 60000;
    const coolantCapacity = cool.density_kg_per_m3 * cool.heat_J_per_kgK * flow;
    const gap = loop.channel_mm * 1e-3;
    const height = loop.channel_height_mm * 1e-3;
    const diameter = (2 * gap * height) / (gap + height);
    const velocity = flow / (loop.channels * gap * height);
    const reynolds = (cool.density_kg_per_m3 * velocity * diameter) / cool.viscosity_Pas;
    const lengthOverDiameter = (loop.channel_length_mm * 1e-3) / diameter;
    const h =
      (channelNusselt(laminarTube, reynolds, cool.prandtl, lengthOverDiameter) * cool.conductivity_W_per_mK) /
      diameter;
    const efficiency = finEfficiency(h, height, this.spec.base.conductivity_W_per_mK, gap);
    const plateUA = h * loop.channels * loop.channel_length_mm * 1e-3 * (2 * height * efficiency + gap);
    const plate = wallToStream(plateUA, coolantCapacity);
    const UA = finUA > 0 ? 1 / (1 / finUA + 1 / loop.tube_side_W_per_K) : 0;
    const small = Math.min(airCapacity, coolantCapacity);
    const large = Math.max(airCapacity, coolantCapacity);
    const stream = small > 0 ? crossFlowEffectiveness(UA / small, small / large) * small : 0;
    return {
      stream_W_per_K: stream,
      plate_K_per_W: 1 / plate - 1 / coolantCapacity,
      coolant_W_per_K: coolantCapacity,
    };
  }
}
