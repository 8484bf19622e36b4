/** Constant exponents that need no general power, by what they amount to. */
export const POWER = {
  general: 0,
  square: 1,
  cube: 2,
  inverse: 3,
  root: 4,
  inverseRoot: 5,
  threeHalves: 6,
} as const;

export type PowerKind = (typeof POWER)[keyof typeof POWER];

/** @example powerKind(0.5) // POWER.root */
export function powerKind(exponent: number): PowerKind {
  switch (exponent) {
    case 2:
      return POWER.square;
    case 3:
      return POWER.cube;
    case -1:
      return POWER.inverse;
    case 0.5:
      return POWER.root;
    case -0.5:
      return POWER.inverseRoot;
    case 1.5:
      return POWER.threeHalves;
    default:
      return POWER.general;
  }
}
