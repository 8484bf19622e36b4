/**
 * What a source adds between its sensor and a cooler's base, and what swapping one source for another changes.
 *
 * A cooler's model is fitted to heater runs, so its resistance holds the heater's own path: block, paste, spreading in
 * the base. For a chip the path is another: die, joint, lid, paste, spreading from a smaller area. Both paths end in the
 * same base on the same sink, so their *difference* is the chip's term, and what they share drops out. It depends on
 * the base: a thick one forgives a small die.
 *
 * Geometry knows this difference badly. Paste, film, joint and the sink's evenness are each moved over the range in
 * which they plausibly lie and the changes added as squares: the width is honest, and wide. Chip runs on the bench narrow
 * it; without them this is all there is.
 */
import type { Layer, Plate } from './plate.ts';
import { plateRise } from './plate-rise.ts';
import { area_mm2, type HeatPatch, requirePositive, sharedArea_mm2 } from './rectangle.ts';
import type { Source } from './source-geometry.ts';

export interface SourceConditions {
  base: { thickness_mm: number; k_W_per_mK: number };
  /** Everything below the base, K/W; shared by both sources. */
  sink_K_per_W: number;
  /** Paste between source and base. */
  film_um: number;
  paste_W_per_mK: number;
  /** Factor on the source's own die joint; 1 as its file says. */
  joint_factor: number;
}

/** Middle of the plausible ranges; common practice, no source. Bases are of copper. */
export const USUAL_CONDITIONS: SourceConditions = {
  base: { thickness_mm: 3, k_W_per_mK: 390 },
  sink_K_per_W: 0.1,
  film_um: 20,
  paste_W_per_mK: Math.sqrt(4 * 8),
  joint_factor: 1,
};

/**
 * Sensor above the sink per W of the source, K/W: joint, lid, paste, base and sink, hot spots superposed.
 *
 * Base and source's plate are taken to have the size of the source's face. The joint counts where the sensor is: with the
 * flux of the hot spot that it sits on.
 *
 * @throws RangeError on an impossible figure
 */
export function sensorResistance(source: Source, conditions: SourceConditions = USUAL_CONDITIONS): number {
  const { base, sink_K_per_W, film_um, paste_W_per_mK, joint_factor } = conditions;
  requirePositive('film_um', film_um);
  requirePositive('paste_W_per_mK', paste_W_per_mK);
  requirePositive('sink_K_per_W', sink_K_per_W);
  const lid: Layer = { ...source.plate, joint_m2K_per_W: (film_um * 1e-6) / paste_W_per_mK };
  const plate: Plate = {
    ...source.face,
    layers: [lid, base],
    sink: { kind: 'film', h_W_per_m2K: 1 / (sink_K_per_W * area_mm2(source.face) * 1e-6) },
  };
  const x = source.face.width_mm / 2;
  const y = source.face.depth_mm / 2;
  const patches: HeatPatch[] = source.hot_spots.map((spot) => ({
    x_mm: x + spot.x_mm,
    y_mm: y + spot.y_mm,
    width_mm: spot.width_mm,
    depth_mm: spot.depth_mm,
    power_W: spot.share,
  }));
  const sensor = { x_mm: x + source.sensor.x_mm, y_mm: y + source.sensor.y_mm };
  let joint = 0;
  for (const patch of patches) {
    const over = sharedArea_mm2(patch, { ...sensor, width_mm: 1e-3, depth_mm: 1e-3 }) > 0;
    if (over) joint += (patch.power_W * source.joint_m2K_per_W * joint_factor) / (area_mm2(patch) * 1e-6);
  }
  return plateRise(plate, patches, sensor).rise_K + joint;
}

export interface SwapTerm {
  /** Added to a cooler's heater resistance, K/W. */
  value_K_per_W: number;
  /** Standard uncertainty of what geometry leaves open, K/W. */
  standard_uncertainty_K_per_W: number;
  /** Each cause's part of it, K/W, largest first. */
  parts: { cause: string; u_K_per_W: number }[];
}

/**
 * Chip's term from geometry: sensor resistance of `to` less that of `from` on the same base.
 *
 * Ranges taken as rectangular (u = half-width/√3): paste 4 to 8 W/mK, film 10 to 40 µm, each common to both sources; die
 * joint half to double; sink half to double (how evenly the pipes take the heat); conductivity of the lid's and base's metal ± 5 %.
 *
 * @param base  of the cooler; its `base_thickness_mm`, or the usual 3 mm with a range from 2 to 6 mm when absent
 * @example swapTerm(heater, oneDie, { thickness_mm: 4, k_W_per_mK: 390 })
 */
export function swapTerm(
  from: Source,
  to: Source,
  base?: { thickness_mm: number; k_W_per_mK: number },
): SwapTerm {
  const usual: SourceConditions = { ...USUAL_CONDITIONS, base: base ?? USUAL_CONDITIONS.base };
  const term = (conditions: SourceConditions) =>
    sensorResistance(to, conditions) - sensorResistance(from, conditions);
  const metal = (factor: number): number => {
    const scaled = (s: Source): Source => ({
      ...s,
      plate: { ...s.plate, k_W_per_mK: s.plate.k_W_per_mK * factor },
    });
    const conditions = { ...usual, base: { ...usual.base, k_W_per_mK: usual.base.k_W_per_mK * factor } };
    return sensorResistance(scaled(to), conditions) - sensorResistance(scaled(from), conditions);
  };
  const between = (cause: string, a: number, b: number) => ({
    cause,
    u_K_per_W: Math.abs(a - b) / 2 / Math.sqrt(3),
  });
  const moved = (cause: string, low: Partial<SourceConditions>, high: Partial<SourceConditions>) =>
    between(cause, term({ ...usual, ...low }), term({ ...usual, ...high }));
  const parts = [
    moved('paste', { paste_W_per_mK: 4 }, { paste_W_per_mK: 8 }),
    moved('film', { film_um: 10 }, { film_um: 40 }),
    moved('die joint', { joint_factor: 0.5 }, { joint_factor: 2 }),
    moved('sink', { sink_K_per_W: 0.05 }, { sink_K_per_W: 0.2 }),
    between('metal', metal(0.95), metal(1.05)),
  ];
  if (!base) {
    const k_W_per_mK = usual.base.k_W_per_mK;
    parts.push(
      moved('base', { base: { thickness_mm: 2, k_W_per_mK } }, { base: { thickness_mm: 6, k_W_per_mK } }),
    );
  }
  parts.sort((a, b) => b.u_K_per_W - a.u_K_per_W);
  return {
    value_K_per_W: term(usual),
    standard_uncertainty_K_per_W: Math.sqrt(parts.reduce((sum, part) => sum + part.u_K_per_W ** 2, 0)),
    parts,
  };
}
