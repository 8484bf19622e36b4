/**
 * A stack of plates between sources on its upper face and a sink under its lower face: a base, or a base with a lid.
 *
 * A temperature pattern cos(λx)·cos(μy) passes through the stack unchanged in shape, so that each pattern has one
 * number: its impedance Z(β), β² = λ² + μ², the temperature of the upper face over the flux into it, m²K/W. Evenly
 * spread heat (β = 0) meets the layers in series; fine patterns (large β) die out within 1/β of the surface and meet
 * `1/(kβ)` whatever lies below. The sources' temperatures are sums over patterns (see {@link plateRise}).
 *
 * Source: Muzychka, Culham and Yovanovich, Thermal spreading resistance of eccentric heat sources on rectangular flux
 * channels, J. Electronic Packaging 125 (2003); the layer recursion is the same as theirs for compound channels.
 */
import { requirePositive } from './rectangle.ts';

export interface Layer {
  thickness_mm: number;
  k_W_per_mK: number;
  /** Resistance of the joint under this layer, m²K/W; 0 when absent. Ignored under the last: the sink says it. */
  joint_m2K_per_W?: number;
}

/**
 * What is under the stack: a film to a fluid of temperature 0, a face held at temperature 0, or a face through which
 * the heat leaves evenly, its mean at temperature 0.
 */
export type Sink = { kind: 'film'; h_W_per_m2K: number } | { kind: 'isothermal' } | { kind: 'even flux' };

export interface Plate {
  width_mm: number;
  depth_mm: number;
  /** From the sources' side down. */
  layers: readonly Layer[];
  sink: Sink;
}

/** @throws RangeError naming the first impossible figure and what would be accepted */
export function checkPlate(plate: Plate): void {
  requirePositive('width_mm of the plate', plate.width_mm);
  requirePositive('depth_mm of the plate', plate.depth_mm);
  if (plate.layers.length === 0) throw new RangeError('the plate has no layers; one or more are accepted');
  plate.layers.forEach((layer, i) => {
    requirePositive(`thickness_mm of layer ${i + 1}`, layer.thickness_mm);
    requirePositive(`k_W_per_mK of layer ${i + 1}`, layer.k_W_per_mK);
    const joint = layer.joint_m2K_per_W ?? 0;
    if (!(joint >= 0 && Number.isFinite(joint))) {
      throw new RangeError(`joint_m2K_per_W of layer ${i + 1} is ${joint}; 0 or more is accepted`);
    }
  });
  if (plate.sink.kind === 'film') requirePositive('h_W_per_m2K of the sink', plate.sink.h_W_per_m2K);
}

/** Impedance of the evenly spread part: the layers, joints and film in series, m²K/W. */
export function seriesImpedance(plate: Plate): number {
  let sum = plate.sink.kind === 'film' ? 1 / plate.sink.h_W_per_m2K : 0;
  plate.layers.forEach((layer, i) => {
    sum += layer.thickness_mm / 1000 / layer.k_W_per_mK;
    if (i + 1 < plate.layers.length) sum += layer.joint_m2K_per_W ?? 0;
  });
  return sum;
}

/**
 * What the finite thickness adds to 1/(kβ), Z(β) − 1/(kβ), in m²K/W, for β > 0 in 1/m.
 *
 * Kept apart because it falls as exp(−2βt) with the uppermost thickness t, while 1/(kβ) is the slow part of the series.
 */
export function impedanceBeyondHalfSpace(plate: Plate, beta_per_m: number): number {
  let below =
    plate.sink.kind === 'film' ? 1 / plate.sink.h_W_per_m2K : plate.sink.kind === 'isothermal' ? 0 : Infinity;
  let beyond = 0;
  for (let i = plate.layers.length - 1; i >= 0; i -= 1) {
    const layer = plate.layers[i]!;
    if (i + 1 < plate.layers.length) below += layer.joint_m2K_per_W ?? 0;
    const own = 1 / (layer.k_W_per_mK * beta_per_m);
    const reflected = below === Infinity ? 1 : (below - own) / (below + own);
    const echo = reflected * Math.exp((-2 * beta_per_m * layer.thickness_mm) / 1000);
    beyond = (own * 2 * echo) / (1 - echo);
    below = own + beyond;
  }
  return beyond;
}
