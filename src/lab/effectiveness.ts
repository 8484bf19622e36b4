/**
 * Conductance from a wall at one temperature to air that enters cold: `C·(1 − e^(−UA/C))`, in W per kelvin between wall and entering air.
 * Never above C (the air cannot leave hotter than the wall) and never above UA (Kays and London, Compact Heat Exchangers, 3rd ed.).
 */
export function wallToStream(UA_W_per_K: number, C_W_per_K: number): number {
  return C_W_per_K <= 0 ? 0 : -C_W_per_K * Math.expm1(-UA_W_per_K / C_W_per_K);
}

/**
 * Effectiveness of a cross-flow exchanger, neither stream mixed:
 * `1 − exp(NTU^0.22/Cr · (exp(−Cr·NTU^0.78) − 1))` (Incropera et al., 6th ed., eq. 11.32, from memory). For `Cr → 0` it tends to
 * `1 − e^(−NTU)`.
 *
 * @param NTU  UA over the smaller capacity rate
 * @param Cr  smaller over larger capacity rate, 0 to 1
 */
export function crossFlowEffectiveness(NTU: number, Cr: number): number {
  if (Cr < 1e-9) return -Math.expm1(-NTU);
  return -Math.expm1((NTU ** 0.22 / Cr) * Math.expm1(-Cr * NTU ** 0.78));
}
