import type { Bench, Cooler } from '../bench/bench.ts';
import { shapeOf, withFace } from '../bench/source.ts';
import { shippedSource } from '../surfaces/shipped-sources.ts';
import type { Source } from '../surfaces/source-geometry.ts';
import { sensorResistance, swapTerm, USUAL_CONDITIONS } from '../surfaces/source-resistance.ts';

/** What is known of a source's term, the resistance that it has more than the heater, before any run on it. */
export interface TermPrior {
  /** `geometry`: from the source's shape. `assumed`: nothing is known of it. */
  readonly from: 'geometry' | 'assumed';
  /** The term's middle on a base of the usual thickness, K/W. */
  readonly usual_K_per_W: number;
  /** Its standard uncertainty, which all coolers share, K/W: what is stated of the source may be wrong. */
  readonly shared_K_per_W: number;
  /** The same if what is stated is right, K/W. */
  readonly asStated_K_per_W: number;
  /** Term of one cooler, K/W: a thick base forgives a small die. */
  readonly value_K_per_W: (cooler: Cooler) => number;
  /** How the term of one cooler differs by its base's thickness, K/W, for a base effect of 1; 0 where that is not known. */
  readonly baseEffect_K_per_W: (cooler: Cooler) => number;
  /** Standard uncertainty of the base effect: how far it may be from what is in `value_K_per_W`. */
  readonly baseSpread: number;
  /** What is left open for one cooler alone because its base is not known, K/W. */
  readonly own_K_per_W: (cooler: Cooler) => number;
}

/** Common practice, no source: a chip under its lid has up to about 0.2 K/W more than a heater block's even face. */
const ASSUMED_K_PER_W = 0.05;
const ASSUMED_SPREAD_K_PER_W = 0.08;
/**
 * Share of a term from geometry that the geometry itself may be wrong by where it describes the right chip: heat is not spread
 * over a die as its file says. Common practice, no source.
 */
const SHAPE_SHARE = 0.15;
/**
 * Share of it by which a stated face, joint or hot spot may be another than the chip's: terms of two and three times the stated one are
 * met (common practice, no source). It is never taken to be known better than a term of which nothing is stated.
 */
const MISSTATED_SHARE = 1.8;
/** How far the effect of the base may be from what a stated shape says, as a share (an assumption). */
const KNOWN_SPREAD = 1;
/**
 * For a source of unknown shape the effect is taken from a shipped one in proportion to the two terms, and this part of it,
 * give or take: a joint under the lid is in the term and answers to no base (an assumption).
 */
const LIKENESS = 'one-die';
const LIKELY_EFFECT = 0.9;
const LIKELY_SPREAD = 0.6;
/** Least and most that the proportion is taken to be: a term that is small by chance has an effect all the same. */
const LEAST_SIZE = 0.5;
const MOST_SIZE = 8;
/** Sides of the faces that dummy heaters have, mm: from a chip's die and lid to a whole base (common practice, no source). */
const FACES_MM = [25, 50] as const;
/** Thicker bases than this are heat sinks of their own kind: the effect has run out, mm. */
const THICKEST_MM = 8;
const THINNEST_MM = 1;

/**
 * Prior of a chip's term: from its shape where bench.yaml or a shipped source gives one, else 0.05 ± 0.08 K/W.
 *
 * @param found_K_per_W  the term as far as the runs have shown it: for a source of unknown shape it says how much the base matters
 * @example termPrior(bench, 'one-die').from // 'geometry'
 */
export function termPrior(bench: Bench, source: string, found_K_per_W = ASSUMED_K_PER_W): TermPrior {
  const heater = shapeOf(bench, 'heater') as Source;
  const shape = shapeOf(bench, source);
  const like = shape ?? (shippedSource(LIKENESS) as Source);
  const effect = baseEffect(heater, like);
  const { parts, value_K_per_W, standard_uncertainty_K_per_W: whole } = swapTerm(heater, like);
  const ofBase = parts.find((part) => part.cause === 'base')?.u_K_per_W ?? 0;
  const ratio = Math.min(Math.max(found_K_per_W / value_K_per_W, LEAST_SIZE), MOST_SIZE);
  const [size, spread] = shape ? [1, KNOWN_SPREAD] : [LIKELY_EFFECT * ratio, LIKELY_SPREAD * ratio];
  const usual = shape ? value_K_per_W : ASSUMED_K_PER_W;
  const asStated = shape
    ? Math.hypot(Math.sqrt(Math.max(whole ** 2 - ofBase ** 2, 0)), SHAPE_SHARE * usual, ofFace(bench, heater))
    : ASSUMED_SPREAD_K_PER_W;
  return {
    from: shape ? 'geometry' : 'assumed',
    usual_K_per_W: usual,
    shared_K_per_W: shape
      ? Math.max(ASSUMED_SPREAD_K_PER_W, MISSTATED_SHARE * Math.abs(usual))
      : ASSUMED_SPREAD_K_PER_W,
    asStated_K_per_W: asStated,
    value_K_per_W: (cooler) => usual + size * effect(cooler),
    baseEffect_K_per_W: effect,
    baseSpread: spread,
    own_K_per_W: (cooler) => (cooler.base_thickness_mm === undefined ? size * ofBase : 0),
  };
}

/**
 * What an unknown face of the heater leaves open of a term from geometry, as a standard uncertainty, K/W: anything between the
 * least and the greatest side is as likely (a rectangular distribution).
 */
function ofFace(bench: Bench, heater: Source): number {
  if (bench.heater.face_mm) return 0;
  const [small, large] = FACES_MM.map((side) =>
    sensorResistance(withFace(heater, [side, side]), USUAL_CONDITIONS),
  );
  return Math.abs(small - large) / 2 / Math.sqrt(3);
}

/** Term on a cooler's base less that on the usual one, K/W. */
function baseEffect(from: Source, to: Source): (cooler: Cooler) => number {
  const term = (thickness_mm: number): number => {
    const conditions = { ...USUAL_CONDITIONS, base: { ...USUAL_CONDITIONS.base, thickness_mm } };
    return sensorResistance(to, conditions) - sensorResistance(from, conditions);
  };
  const usual = term(USUAL_CONDITIONS.base.thickness_mm);
  const known = new Map<number, number>();
  return ({ base_thickness_mm }) => {
    if (base_thickness_mm === undefined) return 0;
    const thickness = Math.min(Math.max(base_thickness_mm, THINNEST_MM), THICKEST_MM);
    let effect = known.get(thickness);
    if (effect === undefined) {
      effect = term(thickness) - usual;
      known.set(thickness, effect);
    }
    return effect;
  };
}
