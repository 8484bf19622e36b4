import type { CoolerSpec } from '../../src/lab/cooler-spec.ts';
import { labData } from '../../src/lab/lab-data.generated.ts';
import { makeRandom } from '../../src/lab/random.ts';

/** Liquid coolers about the shipped one: radiators of one to three fans, plates, pumps and coolants of many kinds. */
export function liquidCoolers(count: number, seed: number): CoolerSpec[] {
  const lab = labData.coolers.find(({ kind }) => kind === 'liquid') as CoolerSpec;
  const random = makeRandom(seed).split('liquid');
  return Array.from({ length: count }, (_, k) => {
    const draw = random.split(String(k));
    const loop = lab.loop as NonNullable<CoolerSpec['loop']>;
    const fans = draw.integer(1, 3);
    return {
      ...lab,
      cooler: `liquid-${k + 1}`,
      base: { ...lab.base, paste_um: draw.between(45, 75), thickness_mm: draw.between(2, 4) },
      loop: {
        ...loop,
        pump_rpm: 100 * draw.integer(22, 34),
        head_kPa: draw.between(8, 22),
        free_flow_L_per_min: draw.between(2, 5),
        viscosity_ratio: draw.between(1.1, 2),
        channels: draw.integer(35, 70),
        channel_mm: draw.between(0.15, 0.35),
        channel_height_mm: draw.between(1.8, 4),
        tube_side_W_per_K: (loop.tube_side_W_per_K * fans * draw.between(0.8, 1.3)) / 2,
      },
      fins: {
        ...lab.fins,
        count: Math.round((lab.fins.count * fans * draw.between(0.85, 1.2)) / 2),
        depth_mm: draw.between(24, 42),
        bypass: draw.between(0.12, 0.34),
      },
      fan: {
        ...lab.fan,
        count: fans,
        max_rpm: 50 * draw.integer(28, 44),
        free_flow_m3_per_h: (lab.fan.free_flow_m3_per_h * fans * draw.between(0.85, 1.15)) / 2,
        stall_Pa: draw.between(16, 34),
      },
    };
  });
}
