import type { Bench, Cooler } from '../bench/bench.ts';
import { shippedSource } from '../spreading/shipped-sources.ts';
import type { Source } from '../spreading/source.ts';
import { type SwapTerm, swapTerm } from '../spreading/source-resistance.ts';
import { geometryOf } from './chip-description.ts';

/** What is known of a source's term, the resistance that it has more than the heater, before any run on it. */
export interface TermPrior {
  /** `geometry`: from the source's shape. `assumed`: nothing is known of it. */
  readonly from: 'geometry' | 'assumed';
  /** Term of one cooler, K/W: a thick base forgives a small die. */
  readonly value_K_per_W: (cooler: Cooler) => number;
  /** Standard uncertainty that all coolers share, K/W. */
  readonly shared_K_per_W: number;
  /** What is left open for one cooler alone because its base is not known, K/W. */
  readonly own_K_per_W: (cooler: Cooler) => number;
  /** The term's middle on a base of the usual thickness, K/W. */
  readonly usual_K_per_W: number;
}

/** Common practice, no source: a chip under its lid has up to about 0.2 K/W more than a heater block's even face. */
const ASSUMED_K_PER_W = 0.05;
const ASSUMED_SPREAD_K_PER_W = 0.08;
/**
 * Share of a term from geometry that the geometry itself may be wrong by: heat is not spread over a die as its file says.
 * Common practice, no source.
 */
const SHAPE_SHARE = 0.15;
/** Copper, as coolers' bases are; W/mK. */
const BASE_CONDUCTIVITY = 390;

/**
 * Prior of a chip's term: from its shape where bench.yaml or a shipped source gives one, else 0.05 ± 0.08 K/W.
 *
 * @example termPrior(bench, 'one-die').from // 'geometry'
 */
export function termPrior(bench: Bench, source: string): TermPrior {
  const to = geometryOf(bench, source);
  const from = shippedSource('heater');
  if (!to || !from) {
    return {
      from: 'assumed',
      value_K_per_W: () => ASSUMED_K_PER_W,
      shared_K_per_W: ASSUMED_SPREAD_K_PER_W,
      own_K_per_W: () => 0,
      usual_K_per_W: ASSUMED_K_PER_W,
    };
  }
  return fromShapes(from, to);
}

function fromShapes(from: Source, to: Source): TermPrior {
  const known = new Map<number | undefined, SwapTerm>();
  const term = (thickness_mm: number | undefined): SwapTerm => {
    let found = known.get(thickness_mm);
    if (!found) {
      const base = thickness_mm === undefined ? undefined : { thickness_mm, k_W_per_mK: BASE_CONDUCTIVITY };
      found = swapTerm(from, to, base);
      known.set(thickness_mm, found);
    }
    return found;
  };
  const usual = term(undefined);
  const ownPart = usual.parts.find((part) => part.cause === 'base')?.u_K_per_W ?? 0;
  return {
    from: 'geometry',
    value_K_per_W: (cooler) => term(cooler.base_thickness_mm).value_K_per_W,
    shared_K_per_W: Math.hypot(
      Math.sqrt(Math.max(usual.standard_uncertainty_K_per_W ** 2 - ownPart ** 2, 0)),
      SHAPE_SHARE * usual.value_K_per_W,
    ),
    own_K_per_W: (cooler) => (cooler.base_thickness_mm === undefined ? ownPart : 0),
    usual_K_per_W: usual.value_K_per_W,
  };
}
