import type { CoolerSpec, PipeSpec } from './cooler-spec.ts';
import { makeRandom, type Random } from './random.ts';

/**
 * Draws plausible air coolers widely: none or four to eight pipes of 6 or 8 mm, towers of many sizes, one or two fans, limits
 * below, among and above usual test loads; now and then the pipes are not listed.
 *
 * Cooler k depends on the seed and on k only.
 *
 * @param count  how many
 * @returns coolers named `cooler-1` … `cooler-<count>`
 */
export function randomCoolers(count: number, seed: number): CoolerSpec[] {
  const random = makeRandom(seed);
  return Array.from({ length: count }, (_, k) =>
    oneCooler(`cooler-${k + 1}`, random.split(`random-cooler-${k + 1}`)),
  );
}

function oneCooler(cooler: string, draw: Random): CoolerSpec {
  const finned = draw.uniform() < 0.1;
  const fans = draw.uniform() < 0.25 ? 2 : 1;
  const max_rpm = 50 * draw.integer(26, 44);
  const flow = draw.between(85, 135) * (fans === 2 ? 1.05 : 1);
  const pipes = finned ? undefined : randomPipes(draw);
  return {
    cooler,
    kind: 'air',
    base: {
      width_mm: finned ? 90 : draw.between(38, 50),
      length_mm: finned ? 80 : draw.between(38, 46),
      thickness_mm: finned ? draw.integer(7, 11) : draw.integer(4, 10) / 2,
      conductivity_W_per_mK: draw.between(375, 395),
      paste_um: draw.between(45, 75),
      paste_W_per_mK: 4.5,
    },
    ...(pipes ? { pipes } : {}),
    fins: {
      count: finned ? draw.integer(40, 60) : draw.integer(40, 60),
      gap_mm: finned ? draw.between(1.2, 1.7) : draw.between(1.5, 2.3),
      thickness_mm: draw.between(0.35, 0.5),
      depth_mm: finned ? draw.between(75, 90) : draw.between(42, 60) * (fans === 2 ? 1.8 : 1),
      width_mm: finned ? draw.between(48, 60) : draw.between(110, 132),
      span_mm: finned ? draw.between(48, 60) : draw.between(12, 20),
      conductivity_W_per_mK: draw.between(195, 220),
      loss_heads: draw.between(2.5, 4.5),
      bypass: draw.between(0.12, 0.34),
      emissivity: draw.between(0.05, 0.3),
    },
    fan: {
      max_rpm,
      min_rpm: 50 * draw.integer(8, 12),
      count: fans,
      free_flow_m3_per_h: flow,
      stall_Pa: draw.between(18, 34) * (fans === 2 ? 1.5 : 1),
      belly: draw.between(0, 0.4),
    },
    sound: {
      full_dBA: 41 + 50 * Math.log10(max_rpm / 1800) + draw.normal(0, 1.5) + (fans === 2 ? 2 : 0),
      tone_dB: draw.between(0, 1.5),
      tone_at: draw.between(0.45, 0.9),
      tone_width: draw.between(0.03, 0.08),
    },
    listed: { price: draw.integer(25, 110), ...(draw.uniform() < 0.2 ? { hide_pipes: true } : {}) },
  };
}

function randomPipes(draw: Random): PipeSpec {
  const thick = draw.uniform() < 0.25;
  const count = thick ? draw.integer(4, 6) : draw.integer(4, 8);
  const limit = thick ? draw.between(50, 90) : draw.between(30, 60);
  const series = draw.between(0.26, 0.42) * (thick ? 0.75 : 1);
  return {
    count,
    diameter_mm: thick ? 8 : 6,
    evaporator_mm: draw.between(30, 40),
    series_K_per_W: series,
    edge_K_per_W: draw.between(0.01, 0.08),
    wick_W_per_m2K: draw.between(8000, 14000),
    boiling: draw.between(5, 10),
    start_K: draw.between(0.3, 1.4),
    start_W: draw.between(3, 9),
    limit_W: limit,
    limit_per_K: draw.between(0.002, 0.006),
    dry_K_per_W: draw.between(0.7, 2.4),
    dry_width: draw.between(0.03, 0.1),
    wall_W_per_K: draw.between(0.4, 1.2),
  };
}
