import type { FanSpec } from './cooler-spec.ts';

/**
 * The flow at which a fan's pressure meets the pressure that the channels need.
 *
 * The fan gives `Δp = d·p₀·(n² + b·n·x − (1 + b)·x²)` with `x = Q/Q₀`, `n` speed over full speed and `d` the air's density over
 * 1.2 kg/m³: by the fan laws, flow goes with n and pressure with n²·density. The channels take `a·Q + c·Q²`. Both are parabolas, so the meeting point
 * is the positive root of one. With `a = 0` the flow is exactly proportional to speed.
 *
 * @param speed  over full speed, ≥ 0
 * @param laminar  a in Pa/(m³/s)
 * @param turbulent  c in Pa/(m³/s)²
 * @param densityRatio  air density over 1.2 kg/m³
 * @returns flow in m³/s
 */
export function operatingFlow(
  fan: FanSpec,
  speed: number,
  laminar: number,
  turbulent: number,
  densityRatio: number,
): number {
  if (speed <= 0) return 0;
  const freeFlow = fan.free_flow_m3_per_h / 3600;
  const stall = fan.stall_Pa * densityRatio;
  const square = turbulent + (stall * (1 + fan.belly)) / (freeFlow * freeFlow);
  const linear = laminar - (stall * fan.belly * speed) / freeFlow;
  const constant = stall * speed * speed;
  return (-linear + Math.sqrt(linear * linear + 4 * square * constant)) / (2 * square);
}
