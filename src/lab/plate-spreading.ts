/**
 * How much more a plate resists because the heat enters through a part of it: the mean temperature of the entry above what uniform heat
 * would give, per watt, after Lee, Song, Au and Moran, ASME/JSME Thermal Engineering Conf. (1995), from memory:
 * `½(1 − ε)^{3/2} Φ/(√π k a)`, `Φ = (tanh λτ + λ/Bi)/(1 + (λ/Bi) tanh λτ)`, `λ = π + 1/(√π ε)`, with the circles of equal area a (entry) and b (plate),
 * `ε = a/b`, `τ = t/b`, `Bi = 1/(π k b R)`.
 *
 * Within about 10 % of the exact series for plates not far from square. Valid for 0 < ε ≤ 1.
 *
 * @param beyond_K_per_W  resistance from the far face to where the heat goes
 */
export function plateSpreading(
  entry_m2: number,
  plate_m2: number,
  thickness_m: number,
  conductivity_W_per_mK: number,
  beyond_K_per_W: number,
): number {
  if (entry_m2 >= plate_m2) return 0;
  const a = Math.sqrt(entry_m2 / Math.PI);
  const b = Math.sqrt(plate_m2 / Math.PI);
  const epsilon = a / b;
  const lambda = Math.PI + 1 / (Math.sqrt(Math.PI) * epsilon);
  const tanh = Math.tanh((lambda * thickness_m) / b);
  const lambdaOverBi = lambda * Math.PI * conductivity_W_per_mK * b * beyond_K_per_W;
  const phi = (tanh + lambdaOverBi) / (1 + lambdaOverBi * tanh);
  return (0.5 * (1 - epsilon) ** 1.5 * phi) / (Math.sqrt(Math.PI) * conductivity_W_per_mK * a);
}
