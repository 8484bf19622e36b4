import { energySum } from './energy-sum.ts';

/** One operating point of a fan. Every field scales on its own, so leave out what is not known. */
export interface FanPoint {
  flow_m3_per_s?: number;
  pressure_Pa?: number;
  /** Shaft power, W. */
  power_W?: number;
  /** Sound level at one place, dBA. */
  sound_dBA?: number;
}

/** Ratios new/old. 1 where left out. */
export interface FanChange {
  speed?: number;
  diameter?: number;
  density?: number;
}

/**
 * Sound exponent of the fan laws: a fan's broadband level rises by about `50·lg(n2/n1)`, 15 dB for a doubling
 * (common practice in fan engineering; with diameter `70·lg`, with density `20·lg`).
 */
export const SOUND_PER_DECADE_OF_SPEED_dB = 50;

/**
 * Fan laws: the same point of the fan's characteristic at another speed, size or air density.
 *
 * For geometrically similar fans at the same dimensionless flow, and Reynolds numbers high enough not to matter:
 * flow ∝ n·D³, pressure ∝ ρ·n²·D², power ∝ ρ·n³·D⁵. On a cooler the fins' pressure loss follows nearly the square of
 * the flow while it is turbulent, so the point stays put when only the speed changes; in narrow laminar channels it
 * drifts, and the flow falls a little faster than the speed. The sound term is a rule (see above), good to some dB.
 *
 * @param point   operating point before; fields that are left out stay out
 * @param change  ratios of speed, diameter and density, each positive
 * @returns the operating point after
 * @throws RangeError if a ratio is not positive
 * @example fanAt({ flow_m3_per_s: 0.02, pressure_Pa: 10, power_W: 1 }, { speed: 0.5 })
 * // { flow_m3_per_s: 0.01, pressure_Pa: 2.5, power_W: 0.125 }
 */
export function fanAt(point: FanPoint, change: FanChange): FanPoint {
  const { speed = 1, diameter = 1, density = 1 } = change;
  for (const [name, ratio] of Object.entries({ speed, diameter, density })) {
    if (!(ratio > 0) || !Number.isFinite(ratio)) {
      throw new RangeError(`fanAt: the ratio of ${name} is ${ratio}; a positive ratio new/old is accepted`);
    }
  }
  const after: FanPoint = {};
  if (point.flow_m3_per_s !== undefined) after.flow_m3_per_s = point.flow_m3_per_s * speed * diameter ** 3;
  if (point.pressure_Pa !== undefined) {
    after.pressure_Pa = point.pressure_Pa * density * speed ** 2 * diameter ** 2;
  }
  if (point.power_W !== undefined) after.power_W = point.power_W * density * speed ** 3 * diameter ** 5;
  if (point.sound_dBA !== undefined) {
    after.sound_dBA =
      point.sound_dBA +
      SOUND_PER_DECADE_OF_SPEED_dB * Math.log10(speed) +
      70 * Math.log10(diameter) +
      20 * Math.log10(density);
  }
  return after;
}

/**
 * Several equal fans on one cooler at one speed.
 *
 * Side by side they add their flows at the same pressure; one behind the other they add their pressures at the same
 * flow. Both are the bounds for free fans: the cooler's own resistance then sets the point, so two fans never give
 * twice the flow through the same fins. Power adds either way, and so does sound energy: two equal fans are 3.0 dB
 * louder than one (beating tones and the wake of a fan in front of another add to that).
 *
 * @param point        operating point of one fan
 * @param count        number of fans, a whole number from 1
 * @param arrangement  `parallel` side by side, `series` one behind the other
 * @throws RangeError if the count is not a whole number from 1
 * @example fansTogether({ pressure_Pa: 10, sound_dBA: 30 }, 2, 'series') // { pressure_Pa: 20, sound_dBA: 33.01 }
 */
export function fansTogether(point: FanPoint, count: number, arrangement: 'parallel' | 'series'): FanPoint {
  if (!Number.isInteger(count) || count < 1) {
    throw new RangeError(`fansTogether: ${count} fans; a whole number from 1 is accepted`);
  }
  const together: FanPoint = {};
  if (point.flow_m3_per_s !== undefined) {
    together.flow_m3_per_s = point.flow_m3_per_s * (arrangement === 'parallel' ? count : 1);
  }
  if (point.pressure_Pa !== undefined) {
    together.pressure_Pa = point.pressure_Pa * (arrangement === 'series' ? count : 1);
  }
  if (point.power_W !== undefined) together.power_W = point.power_W * count;
  if (point.sound_dBA !== undefined) {
    together.sound_dBA = energySum(new Array<number>(count).fill(point.sound_dBA));
  }
  return together;
}
