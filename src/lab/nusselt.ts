/**
 * Mean Nusselt number of a flat channel, both walls at one temperature, flow and temperature developing together.
 *
 * `7.55 + 0.024 x^−1.14 / (1 + 0.0358 Pr^0.17 x^−0.64)` with `x = L/(Dh Re Pr)`, after K. Stephan, Chem.-Ing.-Tech. 31 (1959)
 * 773, as in the VDI Heat Atlas (2nd ed., section G2, from memory). Valid for Re < 2300, 0.1 < Pr < 1000. Long channels tend to 7.55, within
 * 0.2 % of the exact 7.541 of the developed profile.
 *
 * @param reynolds  with the hydraulic diameter, twice the gap
 * @param lengthOverDiameter  L/Dh
 */
export function laminarPlates(reynolds: number, prandtl: number, lengthOverDiameter: number): number {
  const x = lengthOverDiameter / (reynolds * prandtl);
  return 7.55 + (0.024 * x ** -1.14) / (1 + 0.0358 * prandtl ** 0.17 * x ** -0.64);
}

/**
 * Mean Nusselt number of a tube at one wall temperature with the velocity developed: Hausen's
 * `3.66 + 0.0668 Gz/(1 + 0.04 Gz^(2/3))`, `Gz = Re Pr D/L` (Incropera et al., 6th ed., eq. 8.56, from memory). Re < 2300.
 */
export function laminarTube(reynolds: number, prandtl: number, lengthOverDiameter: number): number {
  const graetz = (reynolds * prandtl) / lengthOverDiameter;
  return 3.66 + (0.0668 * graetz) / (1 + 0.04 * graetz ** (2 / 3));
}

/**
 * Turbulent Nusselt number after Gnielinski, `(f/8)(Re − 1000)Pr / (1 + 12.7 √(f/8) (Pr^⅔ − 1))` with Petukhov's
 * `f = (0.790 ln Re − 1.64)^−2` and the entry factor `1 + (D/L)^⅔` (Incropera et al., 6th ed., eqs. 8.62 and 8.21; VDI Heat Atlas G1; from
 * memory). 3000 < Re < 5·10⁶, 0.5 < Pr < 2000.
 */
export function gnielinski(reynolds: number, prandtl: number, lengthOverDiameter: number): number {
  const f = (0.79 * Math.log(reynolds) - 1.64) ** -2;
  const developed =
    ((f / 8) * (reynolds - 1000) * prandtl) / (1 + 12.7 * Math.sqrt(f / 8) * (prandtl ** (2 / 3) - 1));
  return developed * (1 + lengthOverDiameter ** (-2 / 3));
}

/**
 * Between Re 2300 and 4000 the laminar value at 2300 and the turbulent one at 4000 are mixed in proportion (Gnielinski's passage,
 * VDI Heat Atlas G1, from memory).
 */
export function channelNusselt(
  laminar: (reynolds: number, prandtl: number, lengthOverDiameter: number) => number,
  reynolds: number,
  prandtl: number,
  lengthOverDiameter: number,
): number {
  if (reynolds <= 2300) return laminar(reynolds, prandtl, lengthOverDiameter);
  if (reynolds >= 4000) return gnielinski(reynolds, prandtl, lengthOverDiameter);
  const part = (reynolds - 2300) / 1700;
  return (
    (1 - part) * laminar(2300, prandtl, lengthOverDiameter) +
    part * gnielinski(4000, prandtl, lengthOverDiameter)
  );
}
