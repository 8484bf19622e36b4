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
}

/**
 * Heat carried by a pipe of 6 mm and by one of 8 mm before it gives out: 30 to 60 W and 50 to 90 W (common practice, no
 * source), read as the middle of a log-normal and ±1.5 standard deviations; other diameters by the power law between.
 */
const PIPE_6_MM_W = Math.sqrt(30 * 60);
const PIPE_8_MM_W = Math.sqrt(50 * 90);
const PIPE_SPREAD = Math.log(60 / 30) / 3;
const DIAMETER_POWER = Math.log(PIPE_8_MM_W / PIPE_6_MM_W) / Math.log(8 / 6);

/** An air cooler of which nothing is known: middle and spread of ln(limit) (an assumption, wide on purpose). */
const UNKNOWN_LIMIT_W = 260;
const UNKNOWN_SPREAD = 0.45;

/** Extra slope past the limit as a share of the cooler's resistance: middle and log spread (an assumption). */
const SLOPE_SHARE = 0.75;
const SLOPE_SPREAD = 0.55;

const LIMIT_NODES = 8;
/** Three-point Gauss–Hermite rule for the log-normal slope. */
const SLOPE_POINTS = [
  { weight: 1 / 6, z: -Math.sqrt(3) },
  { weight: 2 / 3, z: 0 },
  { weight: 1 / 6, z: Math.sqrt(3) },
];

/** Middle and log spread of the limit that a cooler's own description gives; `undefined` for one without pipes. */
export function limitPrior(cooler: Cooler): { limit_W: number; spread: number; known: boolean } | undefined {
  if (cooler.kind === 'liquid' || cooler.heat_pipes === 0) return undefined;
  if (cooler.heat_pipes === undefined) {
    return { limit_W: UNKNOWN_LIMIT_W, spread: UNKNOWN_SPREAD, known: false };
  }
  const diameter = cooler.heat_pipe_diameter_mm;
  const each = PIPE_6_MM_W * ((diameter ?? 6) / 6) ** DIAMETER_POWER;
  return {
    limit_W: cooler.heat_pipes * each,
    spread: diameter === undefined ? Math.hypot(PIPE_SPREAD, 0.3) : PIPE_SPREAD,
    known: true,
  };
}

/**
 * The distribution of the limit as nodes of equal chance, cut below the greatest heat that was run without it.
 *
 * @param seen_W  greatest heat into the base at which the cooler was run
 * @param resistance_K_per_W  the cooler's resistance there
 * @returns nodes whose weights add to 1; empty for a cooler without heat pipes
 */
export function limitNodes(cooler: Cooler, seen_W: number, resistance_K_per_W: number): LimitNode[] {
  const prior = limitPrior(cooler);
  if (!prior) return [];
  const below = normalCdf(Math.log(seen_W / prior.limit_W) / prior.spread);
  const nodes: LimitNode[] = [];
  for (let k = 0; k < LIMIT_NODES; k++) {
    const share = (k + 0.5) / LIMIT_NODES;
    // Where the runs have outlived the description, what is left is the tail just above them.
    const limit_W =
      below > 0.98
        ? seen_W * Math.exp((prior.spread / 2) * normalQuantile(0.5 + share / 2))
        : prior.limit_W * Math.exp(prior.spread * normalQuantile(below + share * (1 - below)));
    for (const point of SLOPE_POINTS) {
      nodes.push({
        weight: point.weight / LIMIT_NODES,
        limit_W,
        slope_K_per_W: SLOPE_SHARE * resistance_K_per_W * Math.exp(SLOPE_SPREAD * point.z),
      });
    }
  }
  return nodes;
}

/** Width of the knee as a share of the limit: pipes of one cooler give out one after another. */
const KNEE = 0.05;

/** Extra rise at a heat into the base, K: a smooth knee, zero well below the limit. */
export function limitExcess(node: LimitNode, base_W: number): number {
  const width = KNEE * node.limit_W;
  const x = (base_W - node.limit_W) / width;
  return node.slope_K_per_W * width * (x > 30 ? x : Math.log1p(Math.exp(x)));
}
