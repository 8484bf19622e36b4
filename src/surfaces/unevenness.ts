/**
 * What the unevenness of each measured base costs: flatness, shape, paste gap, its resistance and the rise at a load.
 *
 * Everything is beside a perfectly flat base with the same paste, so that `resistance_K_per_W` and `rise_K` are the
 * price of the unevenness alone and may be compared with a difference between two coolers. Depth readings alone say
 * nothing about bending under pressure: the stiff gap, hence the cost, is a bound from above.
 */

import type { Bench, FlatnessMap, FlatnessPoint } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { coupledFilm } from './coupled-film.ts';
import { boundsOf, evenGap, type GapMap, gapMap, meanGap_um } from './gap-map.ts';
import {
  closedShare,
  filmThickness_um,
  PASTE_HIGH_W_PER_MK,
  PASTE_LOW_W_PER_MK,
  pasteResistance,
  USUAL_FILM_UM,
} from './paste-resistance.ts';
import type { Sink } from './plate.ts';
import type { HeatPatch, Rectangle } from './rectangle.ts';
import type { Source } from './source-geometry.ts';
import { USUAL_CONDITIONS } from './source-resistance.ts';
import { surfaceFigure } from './surface-figure.ts';

export interface FlatnessOptions {
  /** Loads, W; default 200. One row per surface and load. */
  power_W?: readonly number[];
  /** Coolers to answer for; all with a map when absent. */
  coolers?: readonly string[];
  /** Conductivity of the paste, low and high, W/mK; default 4 and 8 (common practice). */
  paste_W_per_mK?: readonly [number, number];
  /** Pressure on the contact; without it the gap is only a bound. */
  pressure_kPa?: number;
  /** Yield stress of the paste, Pa, for the film at that pressure; default 100. */
  yield_Pa?: number;
  /** With it, heat enters through the source's hot spots and the gap is coupled to the spreading. */
  source?: Source;
  /** Depths of the source's own face in the cooler's coordinates; flat when absent. */
  mating?: readonly FlatnessPoint[];
  /** Base of each cooler and what is under it, for the coupled reading; default 3 mm of copper above 20 000 W/m²K. */
  base?: (cooler: string) => { thickness_mm: number; k_W_per_mK: number; sink: Sink };
  /** Rise of a cooler at a load, K, where known: gives the share of it. */
  riseOf?: (cooler: string, power_W: number) => number | undefined;
}

/** The unevenness of one measured base at one load, and what it costs there. */
export interface SurfaceRow {
  cooler: string;
  sample: string;
  power_W: number;
  flatness_um: number;
  flatness_least_squares_um: number;
  /** Positive: high in the middle. */
  bow_um: number;
  saddle_um: number;
  waviness_um: number;
  shape: 'convex' | 'hollow' | 'neither';
  /** Stiff surfaces resting on their high points, paste's thinnest film not counted. */
  mean_gap_um: number;
  /** The same under the hot spots, weighted by their power; the mean gap without a source. */
  source_gap_um: number;
  contact_mm2: number;
  film_um: number;
  /** What the gap adds to the resistance of a flat contact, at the geometric mean of the pastes. */
  resistance_K_per_W: number;
  /** With the best paste and the kindest reading, and with the worst. */
  resistance_low_K_per_W: number;
  resistance_high_K_per_W: number;
  rise_K: number;
  rise_low_K: number;
  rise_high_K: number;
  /** Flat contact with the same film, K/W: not in `resistance_K_per_W`. */
  flat_K_per_W: number;
  /** Of the cooler's rise at the load, where that is known. */
  share_of_rise: number | null;
}

/** What the unevenness of each measured base costs. */
export interface ContactResult {
  bench: string;
  source: string | null;
  paste_W_per_mK: [number, number];
  /** `even flux`: each place heats up by its own gap. `coupled`: heat from the hot spots finds its way. */
  reading: 'even flux' | 'coupled';
  /** True where no pressure was given. */
  bound: boolean;
  surfaces: SurfaceRow[];
  warnings: string[];
}

/**
 * @throws BenchError when the bench has no flatness map, or a map's points do not make a surface
 * @example
 * // a base of 14 cm² with 45 µm of mean gap: 1.6 K at 200 W with the worst paste
 * unevenness(bench, { power_W: [200] }).surfaces[0].rise_high_K
 */
export function unevenness(bench: Bench, options: FlatnessOptions = {}): ContactResult {
  const maps = bench.flatness.filter((map) => options.coolers?.includes(map.cooler) ?? true);
  if (maps.length === 0) {
    const whom = options.coolers ? ` for ${options.coolers.join(', ')}` : '';
    throw new BenchError(
      'flatness',
      1,
      1,
      `no map${whom}; flatness/<cooler>-<sample>.csv with x_mm, y_mm, depth_um is accepted`,
    );
  }
  const [low, high] = options.paste_W_per_mK ?? [PASTE_LOW_W_PER_MK, PASTE_HIGH_W_PER_MK];
  if (!(low > 0 && high >= low))
    throw new RangeError(`paste of ${low} to ${high} W/mK; two numbers above 0 in order are accepted`);
  const warnings: string[] = [];
  const bound = options.pressure_kPa === undefined;
  if (bound)
    warnings.push(
      'No pressure given: the gap is that of stiff surfaces resting on their high points, the largest it can be.',
    );
  return {
    bench: bench.name,
    source: options.source?.source ?? null,
    paste_W_per_mK: [low, high],
    reading: options.source ? 'coupled' : 'even flux',
    bound,
    surfaces: maps.flatMap((map) => rowsOf(map, options, low, high)),
    warnings,
  };
}

function rowsOf(map: FlatnessMap, options: FlatnessOptions, low: number, high: number): SurfaceRow[] {
  const file = `flatness/${map.cooler}-${map.sample}.csv`;
  try {
    const figure = surfaceFigure(map.points);
    const gap = contactGap(map.points, options);
    const film_um =
      options.pressure_kPa === undefined
        ? USUAL_FILM_UM
        : filmThickness_um(options.pressure_kPa, options.yield_Pa ?? 100);
    const cost = costOf(map.cooler, gap, film_um, options, low, high);
    const curved = Math.max(figure.saddle_um, figure.waviness_um) < Math.abs(figure.bow_um);
    return (options.power_W ?? [200]).map((power_W) => {
      const rise = options.riseOf?.(map.cooler, power_W);
      const rise_K = cost.middle * power_W;
      return {
        cooler: map.cooler,
        sample: map.sample,
        power_W,
        flatness_um: figure.flatness_um,
        flatness_least_squares_um: figure.flatness_least_squares_um,
        bow_um: figure.bow_um,
        saddle_um: figure.saddle_um,
        waviness_um: figure.waviness_um,
        shape: curved ? (figure.bow_um > 0 ? 'convex' : 'hollow') : 'neither',
        mean_gap_um: meanGap_um(gap),
        source_gap_um: gapUnderSource(gap, options.source),
        contact_mm2: gap.width_mm * gap.depth_mm,
        film_um,
        resistance_K_per_W: cost.middle,
        resistance_low_K_per_W: cost.low,
        resistance_high_K_per_W: cost.high,
        rise_K,
        rise_low_K: cost.low * power_W,
        rise_high_K: cost.high * power_W,
        flat_K_per_W: cost.flat,
        share_of_rise: rise === undefined || !(rise > 0) ? null : rise_K / rise,
      };
    });
  } catch (error) {
    if (error instanceof RangeError) throw new BenchError(file, 1, 1, error.message);
    throw error;
  }
}

/** Gap of the stiff surfaces over the source's face, less what a known pressure closes. */
function contactGap(points: readonly FlatnessPoint[], options: FlatnessOptions): GapMap {
  const middle = middleOf(points);
  const contact: Rectangle | undefined = options.source && { ...middle, ...options.source.face };
  const gap = gapMap(points, {
    ...(options.mating ? { mating: options.mating } : {}),
    ...(contact ? { contact } : {}),
  });
  if (options.pressure_kPa === undefined) return gap;
  const closed = closedShare(meanGap_um(gap), Math.min(gap.width_mm, gap.depth_mm), options.pressure_kPa);
  return { ...gap, gap_um: gap.gap_um.map((g) => g * (1 - closed)) };
}

function costOf(
  cooler: string,
  gap: GapMap,
  film_um: number,
  options: FlatnessOptions,
  low: number,
  high: number,
) {
  const usual = Math.sqrt(low * high);
  const flat = pasteResistance(gap, usual, film_um).flat_K_per_W;
  if (!options.source) {
    const best = pasteResistance(gap, high, film_um);
    const evenFlux = (paste: number) => {
      const at = pasteResistance(gap, paste, film_um);
      return at.even_flux_K_per_W - at.flat_K_per_W;
    };
    return {
      flat,
      middle: evenFlux(usual),
      low: best.even_faces_K_per_W - best.flat_K_per_W,
      high: evenFlux(low),
    };
  }
  const { sink, ...base } = options.base?.(cooler) ?? USUAL_BASE;
  const patches = patchesOf(options.source, gap, 1);
  const upper = options.source.plate;
  const coupled = (paste_W_per_mK: number) => {
    const rise = (map: GapMap) =>
      coupledFilm({ gap: map, film_um, paste_W_per_mK, upper, base, sink }, patches).source_K;
    return rise(gap) - rise(evenGap(gap, 0));
  };
  const costs = [coupled(low), coupled(usual), coupled(high)] as const;
  return { flat, middle: costs[1], low: Math.min(...costs), high: Math.max(...costs) };
}

/** The usual base above pipes or fins that take 20 000 W/m²K: common practice, no source. */
export const USUAL_BASE = {
  ...USUAL_CONDITIONS.base,
  sink: { kind: 'film', h_W_per_m2K: 20_000 } as Sink,
};

/** A source's hot spots in the gap map's coordinates, its face in the middle of the contact. */
function patchesOf(source: Source, gap: GapMap, power_W: number): HeatPatch[] {
  const x = gap.x_mm + gap.width_mm / 2;
  const y = gap.y_mm + gap.depth_mm / 2;
  return source.hot_spots.map((spot) => ({
    x_mm: x + spot.x_mm,
    y_mm: y + spot.y_mm,
    width_mm: spot.width_mm,
    depth_mm: spot.depth_mm,
    power_W: power_W * spot.share,
  }));
}

function gapUnderSource(gap: GapMap, source: Source | undefined): number {
  if (!source) return meanGap_um(gap);
  return patchesOf(source, gap, 1).reduce((sum, patch) => sum + patch.power_W * meanGap_um(gap, patch), 0);
}

function middleOf(points: readonly FlatnessPoint[]): { x_mm: number; y_mm: number } {
  const { low_x, high_x, low_y, high_y } = boundsOf(points);
  return { x_mm: (low_x + high_x) / 2, y_mm: (low_y + high_y) / 2 };
}
