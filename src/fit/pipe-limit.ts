import type { Cooler } from '../bench/bench.ts';
import { normalCdf, normalQuantile } from '../numerics/distributions.ts';

/**
 * What runs below a heat-pipe limit cannot see, and what is known about it all the same.
 *
 * A heat pipe carries heat up to a limit (capillary or boiling); beyond it the wick dries and the extra heat has to go
 * through copper and the other pipes. No run below the limit shows it, so beyond the tested loads every formula that was
 * fitted there is continued with the chance that the limit lies in between: a distribution of the limit, cut at the
 * greatest load run without seeing one, and of how steeply the rise grows past it.
 */
export interface LimitNode {
  readonly weight: number;
  /** Heat into the base at which the pipes give out, W. */
  readonly limit_W: number;
  /** Extra rise per extra watt beyond it, K/W. */
  readonly slope_K_per_W: number;
  /** Extra rise as soon as it is met, K: what a pipe that has dried out leaves to the others. */
  readonly step_K: number;
}

/** Saturated water (steam tables, from memory): density kg/m³, surface tension N/m, latent heat J/kg, viscosity Pa·s. */
const WATER = [
  { at_C: 40, density: 992, tension: 0.0696, latent: 2.406e6, viscosity: 653e-6 },
  { at_C: 60, density: 983, tension: 0.0662, latent: 2.358e6, viscosity: 466e-6 },
  { at_C: 80, density: 972, tension: 0.0627, latent: 2.308e6, viscosity: 354e-6 },
  { at_C: 100, density: 958, tension: 0.0589, latent: 2.257e6, viscosity: 282e-6 },
];

/** A wick of sintered copper powder: permeability m², effective pore radius m (orders of magnitude in the handbooks named below). */
const PERMEABILITY_M2 = 5e-11;
const PORE_RADIUS_M = 50e-6;
/**
 * Effective length of a cooler's pipe, half of evaporator and condenser and all between; wall and wick, which are taken to be as thick whatever the
 * diameter, so that the limit grows a little faster than it does (an assumption: with shares of the radius 8 mm would carry 80 W, and pipes of 8 mm are
 * commonly given 50 to 90 W; common practice, no source), but no thicker than such shares of the radius, which are those of 6 mm. All in m.
 */
const EFFECTIVE_LENGTH_M = 0.15;
const WALL_M = 0.3e-3;
const WICK_M = 0.69e-3;
const WALL_SHARE = 0.1;
const WICK_SHARE = 0.23;

/**
 * The heat at which the wick of a level water pipe can no longer pump back what evaporates, W:
 * Q = M·K·A·(2/r)/L with the merit number M = ρ·σ·h/μ, the vapour's and the wall's own pressure drop left out.
 *
 * Source: Faghri, Heat Pipe Science and Technology (1995), 4.2; Reay, Kew and McGlen, Heat Pipes, 6th ed. (2014), 2.3
 * (both from memory).
 *
 * @param vapour_C  40 to 100; nearest of 40, 60, 80 and 100 by straight line between
 */
export function capillaryLimit(diameter_mm: number, vapour_C = 60, length_m = EFFECTIVE_LENGTH_M): number {
  const radius = diameter_mm / 2000;
  const outer = radius - Math.min(WALL_M, WALL_SHARE * radius);
  const inner = outer - Math.min(WICK_M, WICK_SHARE * radius);
  const wick_m2 = Math.PI * (outer ** 2 - inner ** 2);
  return (waterMerit(vapour_C) * PERMEABILITY_M2 * wick_m2 * 2) / PORE_RADIUS_M / length_m;
}

/** Merit number of saturated water, W/m². */
export function waterMerit(vapour_C: number): number {
  const merit = WATER.map((w) => (w.density * w.tension * w.latent) / w.viscosity);
  const place = Math.min(Math.max((vapour_C - WATER[0].at_C) / 20, 0), WATER.length - 1);
  const k = Math.min(Math.floor(place), WATER.length - 2);
  return merit[k] + (place - k) * (merit[k + 1] - merit[k]);
}

/**
 * Log spread of a pipe's limit about the capillary limit of a usual one: permeability and pore size 0.3, length 0.2, bends and flattening
 * 0.2, vapour 0.15, added in squares (an assumption).
 */
const PIPE_SPREAD = 0.45;

/** An air cooler of which nothing is known: middle and spread of ln(limit) (an assumption, wide on purpose). */
const UNKNOWN_LIMIT_W = 260;
const UNKNOWN_SPREAD = 0.45;

/** Extra slope past the limit as a share of the cooler's resistance: middle and log spread (an assumption). */
const SLOPE_SHARE = 1;
const SLOPE_SPREAD = 0.8;

/**
 * Step at the limit as a share of the rise there, which is as likely to be large as the slope: one of five pipes that dries out leaves the others
 * a quarter more of the pipes' part of the rise, which is about a fifth of it (an assumption).
 */
const STEP_SHARE = 0.05;

/** Shares of the distribution between which a node stands: fine at the near end, which decides the upper limit of an interval. */
const NODE_EDGES = [0, 0.015, 0.04, 0.08, 0.15, 0.25, 0.4, 0.6, 0.8, 1];
/** Three-point Gauss–Hermite rule for the log-normal slope. */
const SLOPE_POINTS = [
  { weight: 1 / 6, z: -Math.sqrt(3) },
  { weight: 2 / 3, z: 0 },
  { weight: 1 / 6, z: Math.sqrt(3) },
];

/** What is believed of a cooler's limit before its own runs. */
export interface LimitPrior {
  /** Middle, W, and standard deviation of its logarithm. */
  readonly limit_W: number;
  readonly spread: number;
  /** Which pipes it shares its make with: their diameter, mm; `undefined` where its pipes are not described. */
  readonly group?: number;
}

/** What a cooler's own description says of its limit; `undefined` for one without pipes. */
export function limitPrior(cooler: Cooler): LimitPrior | undefined {
  if (cooler.kind === 'liquid' || cooler.heat_pipes === 0) return undefined;
  if (cooler.heat_pipes === undefined) return { limit_W: UNKNOWN_LIMIT_W, spread: UNKNOWN_SPREAD };
  const diameter = cooler.heat_pipe_diameter_mm;
  return {
    limit_W: cooler.heat_pipes * capillaryLimit(diameter ?? USUAL_MM),
    spread: diameter === undefined ? Math.hypot(PIPE_SPREAD, 0.3) : PIPE_SPREAD,
    group: diameter ?? USUAL_MM,
  };
}

/** Diameter of a pipe whose own is not stated, mm (common practice, no source). */
const USUAL_MM = 6;

/** Chance that a cooler which has met its limit within the loads run meets another beyond them (an assumption). */
const SECOND_CHANCE = 0.25;

/**
 * The distribution of the limit as nodes, cut below the greatest heat that was run without it.
 *
 * A cooler whose runs show a limit within them may meet another or not: the nodes of a limit to come then share what is left,
 * and one node without a slope has the rest.
 *
 * @param prior  what is believed of the limit; `undefined` for a cooler without heat pipes
 * @param seen_W  greatest heat into the base at which the cooler was run
 * @param resistance_K_per_W  the cooler's resistance there
 * @param met  chance, by the runs, that the limit was met within them
 * @returns nodes whose weights add to 1; empty without a prior
 */
export function limitNodes(
  prior: LimitPrior | undefined,
  seen_W: number,
  resistance_K_per_W: number,
  met = 0,
): LimitNode[] {
  if (!prior) return [];
  const below = normalCdf(Math.log(seen_W / prior.limit_W) / prior.spread);
  const none = met * (1 - SECOND_CHANCE);
  const nodes: LimitNode[] =
    none > 0 ? [{ weight: none, limit_W: NEVER_W, slope_K_per_W: 0, step_K: 0 }] : [];
  for (let k = 1; k < NODE_EDGES.length; k++) {
    const share = (NODE_EDGES[k - 1] + NODE_EDGES[k]) / 2;
    const weight = (1 - none) * (NODE_EDGES[k] - NODE_EDGES[k - 1]);
    // Where the runs have outlived the description, what is left is the tail just above them.
    const limit_W =
      below > 0.98
        ? seen_W * Math.exp((prior.spread / 2) * normalQuantile(0.5 + share / 2))
        : prior.limit_W * Math.exp(prior.spread * normalQuantile(below + share * (1 - below)));
    for (const point of SLOPE_POINTS) {
      const severe = resistance_K_per_W * Math.exp(SLOPE_SPREAD * point.z);
      nodes.push({
        weight: weight * point.weight,
        limit_W,
        slope_K_per_W: SLOPE_SHARE * severe,
        step_K: STEP_SHARE * severe * limit_W,
      });
    }
  }
  return nodes;
}

/** A limit that no cooler meets, W. */
const NEVER_W = 1e9;

/**
 * Chance that a limit not yet shown by the runs lies at or below a heat into the base: the nodes' chance, by straight line in between
 * and zero at the greatest heat run.
 */
export function limitChance(nodes: readonly LimitNode[], seen_W: number, base_W: number): number {
  if (base_W <= seen_W) return 0;
  const own = new Map<number, number>();
  for (const { limit_W, weight } of nodes) {
    if (limit_W < NEVER_W) own.set(limit_W, (own.get(limit_W) ?? 0) + weight);
  }
  let [from_W, chance, half] = [seen_W, 0, 0];
  for (const [limit_W, weight] of [...own].sort(([a], [b]) => a - b)) {
    // Half of a node's chance lies on either side of it.
    const step = half + weight / 2;
    if (base_W < limit_W) return chance + (step * (base_W - from_W)) / (limit_W - from_W);
    [from_W, chance, half] = [limit_W, chance + step, weight / 2];
  }
  return chance + half * (1 - from_W / base_W);
}

/** Width of the knee as a share of the limit: pipes of one cooler give out one after another (an assumption). */
const KNEE = 1 / 60;

/**
 * Extra rise at a heat into the base, K: zero up to the limit, where the first pipe gives out, beyond it the step and the slope, each over the
 * width of the knee.
 */
export function limitExcess({ limit_W, slope_K_per_W, step_K }: LimitNode, base_W: number): number {
  if (slope_K_per_W === 0) return 0;
  const width = KNEE * limit_W;
  const x = Math.max(0, (base_W - limit_W) / width);
  const done = -Math.expm1(-x);
  return step_K * done + slope_K_per_W * width * (x - done);
}
