/**
 * Efficiency of a straight fin with a tip that loses nothing: `tanh(mL)/(mL)`, `m = √(2h/(k t))`: the heat it gives over what it
 * would give if it were all as hot as its root (Incropera et al., 6th ed., eq. 3.89).
 *
 * @param h_W_per_m2K  heat-transfer coefficient on both faces
 * @param length_m  from root to tip
 * @example finEfficiency(0, 0.02, 200, 0.0004) // 1
 */
export function finEfficiency(
  h_W_per_m2K: number,
  length_m: number,
  conductivity_W_per_mK: number,
  thickness_m: number,
): number {
  const mL = length_m * Math.sqrt((2 * h_W_per_m2K) / (conductivity_W_per_mK * thickness_m));
  return mL < 1e-6 ? 1 : Math.tanh(mL) / mL;
}
