import type { PipeSpec } from './cooler-spec.ts';

/** State of a row of pipes: heat of each kind of pipe (middle first), reused as the start of the next solution. */
export interface PipeState {
  heat_W: Float64Array;
  /** Base above fins, K. */
  drop_K: number;
}

/**
 * A row of heat pipes between base and fins.
 *
 * Pipe i needs the temperature drop
 * `q·r_i + q/(A(h_w + B·(q/A)^0.7)) + s·q/(q + q_s) + r_dry·w·L·ln(1 + e^((q/L − 1)/w))`:
 * walls and condenser, with a longer way through the base for the outer pipes; the wetted evaporator, where boiling strengthens with heat flux
 * (exponent 0.7: Mostinski, Teploenergetika 10 (1963) 66, from memory; Cooper, Adv. Heat Transfer 16 (1984) 157, has 0.67); the vapour's start; and beyond its limit L the resistance of a partly dried wick. L moves
 * with the vapour's temperature, as the capillary limit of water does between 30 and 100 °C (VDI Heat Atlas, 2nd ed., section Mi; figures of one pipe are
 * common practice, no source). All pipes and the copper of their walls lie side by side between the same two temperatures, so pipes of unequal heat
 * dry out one after another and their surplus moves to the others.
 *
 * The row is solved by Newton's method on (q₁ … q_N, drop), whose matrix is an arrow: one line of algebra per step.
 */
export class PipeRow {
  readonly spec: PipeSpec;
  private readonly copies: Float64Array;
  private readonly series: Float64Array;
  private readonly area: number;
  private readonly need: Float64Array;
  private readonly slope: Float64Array;

  constructor(spec: PipeSpec) {
    this.spec = spec;
    const kinds = Math.ceil(spec.count / 2);
    const odd = spec.count % 2 === 1;
    const outermost = (spec.count - 1) / 2;
    this.copies = new Float64Array(kinds);
    this.series = new Float64Array(kinds);
    this.need = new Float64Array(kinds);
    this.slope = new Float64Array(kinds);
    for (let k = 0; k < kinds; k++) {
      const place = odd ? k : k + 0.5;
      this.copies[k] = odd && k === 0 ? 1 : 2;
      this.series[k] =
        spec.series_K_per_W + (outermost > 0 ? spec.edge_K_per_W * (place / outermost) ** 2 : 0);
    }
    this.area = Math.PI * spec.diameter_mm * spec.evaporator_mm * 1e-6;
  }

  fresh(): PipeState {
    return { heat_W: new Float64Array(this.copies.length), drop_K: 0 };
  }

  /** Pipes of each kind in `PipeState.heat_W`. */
  get multiplicity(): Float64Array {
    return this.copies;
  }

  /** Most that one pipe carries at a vapour temperature, W. */
  limit_W(vapour_C: number): number {
    const factor = 1 + this.spec.limit_per_K * (vapour_C - 60);
    return this.spec.limit_W * Math.min(1.6, Math.max(0.4, factor));
  }

  /**
   * Drop from base to fins when `heat_W` passes; fills `state`.
   *
   * @param vapour_C  vapour temperature, which sets the limit
   */
  solve(heat_W: number, vapour_C: number, state: PipeState): number {
    const { copies, series, area, spec } = this;
    const q = state.heat_W;
    if (heat_W <= 0) {
      q.fill(0);
      state.drop_K = 0;
      return 0;
    }
    const limit = this.limit_W(vapour_C);
    const width = spec.dry_width;
    const dryAtZero = Math.log1p(Math.exp(-1 / width));
    if (q[0] === 0) q.fill(heat_W / spec.count);
    let drop = state.drop_K;
    for (let step = 0; step < 60; step++) {
      let conductance = spec.wall_W_per_K;
      let heatAtZeroDrop = 0;
      for (let k = 0; k < q.length; k++) {
        const heat = q[k];
        const boiling = spec.boiling * (heat / area) ** 0.7;
        const film = area * (spec.wick_W_per_m2K + boiling);
        const started = heat + spec.start_W;
        const excess = (heat / limit - 1) / width;
        const soft = excess > 30 ? excess : Math.log1p(Math.exp(excess));
        const need =
          heat * series[k] +
          heat / film +
          (spec.start_K * heat) / started +
          spec.dry_K_per_W * width * limit * (soft - dryAtZero);
        const slope =
          series[k] +
          (1 - (0.7 * area * boiling) / film) / film +
          (spec.start_K * spec.start_W) / (started * started) +
          spec.dry_K_per_W / (1 + Math.exp(-excess));
        this.need[k] = need;
        this.slope[k] = slope;
        conductance += copies[k] / slope;
        heatAtZeroDrop += copies[k] * (heat - need / slope);
      }
      const next = (heat_W - heatAtZeroDrop) / conductance;
      let change = Math.abs(next - drop);
      drop = next;
      for (let k = 0; k < q.length; k++) {
        const moved = q[k] + (drop - this.need[k]) / this.slope[k];
        const kept = Math.max(moved, 0.2 * q[k]);
        change += Math.abs(kept - q[k]) * 0.1;
        q[k] = kept;
      }
      if (change < 1e-9) break;
    }
    state.drop_K = drop;
    return drop;
  }
}
