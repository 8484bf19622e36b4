import type { CurveSpec } from './curve-cooler.ts';
import { curveData } from './curve-data.generated.ts';
import { makeRandom, type Random } from './random.ts';

/** How the coolers of the second lab are drawn. */
export interface CurveStyle {
  /** Kinds drawn from, each as often (all). `bare`: fins on a base; `chamber`: a vapour chamber, its cells for pipes left blank. */
  kinds?: readonly Kind[];
  /** Rise at 45 % of full speed over that at full, within which coolers are drawn ([1.1, 1.8]). */
  atSlow?: readonly [number, number];
  /** Part of coolers whose fan stalls below some speed (0.3). */
  stall?: number;
  /** Limit of a pipe over what 6 or 8 mm commonly carry, 30 to 60 and 50 to 90 W ([0.67, 1.6]). */
  pipeStrength?: readonly [number, number];
  /** Limit of all pipes of a cooler, W, in place of `pipeStrength`. */
  limit_W?: readonly [number, number];
}

export type Kind = 'pipes' | 'bare' | 'chamber' | 'liquid';
const kinds: readonly Kind[] = ['pipes', 'pipes', 'pipes', 'bare', 'chamber', 'liquid'];

/**
 * Draws coolers of the second lab: measured-type curves, none of which comes from the formulas or the priors that are fitted. Resistances, ratios
 * and limits are invented within the widths that `style` and the code below state.
 *
 * Cooler k depends on the seed, the style and k only.
 *
 * @returns coolers named `curve-1` … `curve-<count>`
 */
export function curveCoolers(count: number, seed: number, style: CurveStyle = {}): CurveSpec[] {
  const random = makeRandom(seed);
  return Array.from({ length: count }, (_, k) => {
    const draw = random.split(`curve-cooler-${k + 1}`);
    const from = style.kinds ?? kinds;
    return curveCooler(`curve-${k + 1}`, from[draw.integer(0, from.length - 1)], draw, style);
  });
}

/** A tiny cooler of three pipes, a large liquid one, and coolers between them. */
export function tinyBesideLarge(count: number, seed: number): CurveSpec[] {
  const [tiny, large, ...rest] = curveCoolers(count, seed);
  const draw = makeRandom(seed).split('tiny-beside-large');
  const small = curveCooler(tiny.cooler, 'pipes', draw.split('tiny'), {});
  const big = curveCooler(large.cooler, 'liquid', draw.split('large'), {});
  const pipes = { count: 3, diameter_mm: 6, limit_W: draw.between(30, 60) };
  return [{ ...small, pipes, air: scaled(small.air, 1.8) }, { ...big, air: scaled(big.air, 0.5) }, ...rest];
}

function scaled({ speed, K_per_W }: CurveSpec['air'], by: number): CurveSpec['air'] {
  return { speed, K_per_W: K_per_W.map((value) => by * value) };
}

/** Uniform in the logarithm. */
function logBetween(draw: Random, [low, high]: readonly [number, number]): number {
  return low * (high / low) ** draw.uniform();
}

function curveCooler(cooler: string, kind: Kind, draw: Random, style: CurveStyle): CurveSpec {
  const max_rpm = 50 * draw.integer(26, 44);
  const thick = draw.uniform() < 0.25;
  const count = thick ? draw.integer(3, 6) : draw.integer(3, 8);
  const common = thick ? draw.between(50, 90) : draw.between(30, 60);
  const limit_W = style.limit_W
    ? draw.between(...style.limit_W) / count
    : common * logBetween(draw, style.pipeStrength ?? [0.67, 1.6]);
  const fixed = draw.between(0.02, 0.05);
  const spreading = draw.between(0.01, kind === 'bare' ? 0.05 : 0.03);
  const least = { pipes: draw.between(0.02, 0.07), chamber: draw.between(0.015, 0.05), bare: 0, liquid: 0 }[
    kind
  ];
  const transport = transportCurve(draw.split('transport'), kind, least);
  const plate = draw.between(0.02, 0.05);
  const airFull = kind === 'liquid' ? draw.between(0.04, 0.09) : draw.between(0.07, 0.16);
  const ratio = draw.between(...(style.atSlow ?? [1.1, 1.8]));
  const rest = 0.02 + fixed + spreading + (kind === 'liquid' ? plate : 1.2 * least);
  return {
    cooler,
    kind: kind === 'liquid' ? 'liquid' : 'air',
    base: { thickness_mm: draw.integer(4, 10) / 2 },
    fixed_K_per_W: fixed,
    spreading_K_per_W: spreading,
    off_centre: draw.between(0, 1.5),
    transport,
    ...(kind === 'pipes' && { pipes: { count, diameter_mm: thick ? 8 : 6, limit_W } }),
    ...((kind === 'pipes' || kind === 'chamber') && {
      dry: {
        heat_W: draw.between(180, 500),
        step_K: draw.between(0, 6),
        slope_K_per_W: logBetween(draw, [0.2, 0.9]),
      },
    }),
    air: airCurve(draw.split('air'), airFull, airFull + (ratio - 1) * (airFull + rest), style.stall ?? 0.3),
    ...(kind === 'liquid' && {
      loop: { pump_rpm: 100 * draw.integer(22, 34) },
      plate: {
        K_per_W: plate,
        exponent: draw.between(0.3, 0.8),
        capacity_W_per_K: draw.between(40, 150),
      },
    }),
    fan: { max_rpm, min_rpm: 50 * draw.integer(7, 11), count: draw.uniform() < 0.25 ? 2 : 1 },
    sound: {
      full_dBA: 41 + 50 * Math.log10(max_rpm / 1800) + draw.normal(0, 2),
      tone_dB: draw.between(0, 2.5),
      tone_at: draw.between(0.45, 0.9),
      tone_width: draw.between(0.03, 0.08),
      ...(kind === 'liquid' && { pump_dBA: draw.between(24, 31) }),
    },
    listed: { price: draw.integer(25, 150), ...(kind === 'chamber' && { hide_pipes: true }) },
  };
}

/** Resistance of a published shape, part of it constant; a drop that would fall as heat rises stands still there. */
function transportCurve(draw: Random, kind: Kind, least: number): CurveSpec['transport'] {
  if (least === 0) return { heat_W: [0, 1000], drop_K: [0, 0] };
  const shape = curveData.shapes[draw.integer(0, curveData.shapes.length - 1)];
  const last_W = draw.between(90, 220);
  const variable = kind === 'chamber' ? draw.between(0, 0.1) : draw.between(0.1, 0.5);
  const lowest = Math.min(...shape.resistance_K_per_W);
  const heat_W = [0, ...shape.power_W.map((W) => (last_W * W) / (shape.power_W.at(-1) as number))];
  const drop_K = [0];
  shape.resistance_K_per_W.forEach((R, k) => {
    const drop = heat_W[k + 1] * least * (1 + variable * (R / lowest - 1));
    drop_K.push(Math.max(drop, drop_K[k]));
  });
  // Beyond the last measured power the resistance stays what it is there.
  heat_W.push(2 * last_W);
  drop_K.push(2 * (drop_K.at(-1) as number));
  return { heat_W, drop_K };
}

/** A power of speed between full speed and 45 %, and below its stall a fan that gives a tenth to a third less. */
function airCurve(draw: Random, full: number, atSlow: number, stalls: number): CurveSpec['air'] {
  const power = draw.between(0.5, 2);
  const stall = draw.uniform() < stalls ? draw.between(0.35, 0.7) : 0;
  const loss = draw.between(0.1, 0.35);
  const raw = (speed: number) => speed ** -power * (speed < stall ? 1 + loss : 1);
  const scale = (atSlow - full) / (raw(0.45) - 1);
  const speed = [
    0.15,
    0.2,
    0.27,
    0.35,
    0.45,
    0.57,
    0.7,
    0.85,
    1,
    ...(stall > 0 ? [stall - 0.02, stall] : []),
  ];
  const knots = [...new Set(speed)].sort((a, b) => a - b);
  return { speed: knots, K_per_W: knots.map((n) => full + scale * (raw(n) - 1)) };
}
