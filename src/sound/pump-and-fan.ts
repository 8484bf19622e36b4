import { smallest } from '../numerics/extremes.ts';
import { leastBetween } from '../numerics/roots.ts';
import { energySum } from './energy-sum.ts';

/** One noisy part of a liquid cooler: its own level against its speed, `L = a + b·lg(rpm)`, and the speeds it can run. */
export interface NoisyPart {
  a_dBA: number;
  b_dB_per_decade: number;
  least_rpm: number;
  greatest_rpm: number;
}

export interface PumpAndFan {
  fan_rpm: number;
  pump_rpm: number;
  rise_K: number;
  /** Own level of fan and pump together, dBA. */
  own_dBA: number;
  /** Own levels of the two parts, dBA. */
  fan_dBA: number;
  pump_dBA: number;
  limitedBy: 'none' | 'least-stable-speed' | 'greatest-speed';
  notes: string[];
}

/** Steps of the first look along the curve of pairs. */
const COARSE_STEPS = 160;

/**
 * The pair of fan and pump speeds with the least rise at a total own level.
 *
 * Fan and pump are incoherent sources, so all pairs of one total lie on a curve: the louder the pump, the quieter the
 * fan must be. Along it the rise falls, has its least, and climbs again: a fast pump over a still radiator helps as
 * little as a fast fan over a still loop. The split of the energy is searched on the whole curve first (the rise may
 * have several dips) and then narrowed by golden section.
 *
 * @param fan      law and speeds of the fan
 * @param pump     law and speeds of the pump
 * @param own_dBA  level that both together may have, the background not included
 * @param rise_K   rise at a pair of speeds, K
 * @throws RangeError if a part has no speeds or its law does not rise with speed
 * @example coolestPair(fan, pump, 35, (fan_rpm, pump_rpm) => 40e3 / fan_rpm + 20e3 / pump_rpm)
 */
export function coolestPair(
  fan: NoisyPart,
  pump: NoisyPart,
  own_dBA: number,
  rise_K: (fan_rpm: number, pump_rpm: number) => number,
): PumpAndFan {
  refuseFalling('fan', fan);
  refuseFalling('pump', pump);
  const pairAt = (fan_rpm: number, pump_rpm: number): Omit<PumpAndFan, 'limitedBy' | 'notes'> => {
    const [fan_dBA, pump_dBA] = [levelOf(fan, fan_rpm), levelOf(pump, pump_rpm)];
    const rise = rise_K(fan_rpm, pump_rpm);
    return { fan_rpm, pump_rpm, rise_K: rise, own_dBA: energySum([fan_dBA, pump_dBA]), fan_dBA, pump_dBA };
  };
  const quietest = energySum([levelOf(fan, fan.least_rpm), levelOf(pump, pump.least_rpm)]);
  const loudest = energySum([levelOf(fan, fan.greatest_rpm), levelOf(pump, pump.greatest_rpm)]);
  if (own_dBA <= quietest) {
    const isOut = own_dBA < quietest;
    return {
      ...pairAt(fan.least_rpm, pump.least_rpm),
      limitedBy: isOut ? 'least-stable-speed' : 'none',
      notes: isOut
        ? [`cannot be as quiet as ${own_dBA} dBA: shown at both least speeds, ${quietest.toFixed(1)} dBA`]
        : [],
    };
  }

  // Within the level, so above `loudest` the least rise over all speeds is asked for; below, over the curve.
  const fanFor = (pump_rpm: number): number => {
    const rpm = speedOf(fan, own_dBA, levelOf(pump, pump_rpm));
    return Math.min(Math.max(rpm, fan.least_rpm), fan.greatest_rpm);
  };
  const pumpTop = Math.min(speedOf(pump, own_dBA, levelOf(fan, fan.least_rpm)), pump.greatest_rpm);
  const span = Math.log(pumpTop / pump.least_rpm);
  const pumpAt = (t: number): number => pump.least_rpm * Math.exp(span * t);
  const t = leastOnCurve((at) => rise_K(fanFor(pumpAt(at)), pumpAt(at)));
  const isOut = own_dBA > loudest;
  return {
    ...pairAt(fanFor(pumpAt(t)), pumpAt(t)),
    limitedBy: isOut ? 'greatest-speed' : 'none',
    notes: isOut
      ? [`cannot be as loud as ${own_dBA} dBA: both greatest speeds make ${loudest.toFixed(1)} dBA`]
      : [],
  };
}

/** A law that rises with speed, and speeds in order. */
function refuseFalling(name: string, part: NoisyPart): void {
  if (part.b_dB_per_decade > 0 && part.least_rpm > 0 && part.greatest_rpm >= part.least_rpm) return;
  throw new RangeError(
    `coolestPair: the ${name} has slope ${part.b_dB_per_decade} dB and speeds ${part.least_rpm} to ${part.greatest_rpm} rpm; a rising law and positive speeds in order are accepted`,
  );
}

/** Where on 0 to 1 a function is least: the best of even steps, narrowed between its neighbours. */
function leastOnCurve(f: (t: number) => number): number {
  const values = Array.from({ length: COARSE_STEPS + 1 }, (_, i) => f(i / COARSE_STEPS));
  const best = values.indexOf(smallest(values));
  const [from, to] = [Math.max(best - 1, 0), Math.min(best + 1, COARSE_STEPS)];
  const t = leastBetween(f, from / COARSE_STEPS, to / COARSE_STEPS, 1e-10);
  const atEnd = best === 0 || best === COARSE_STEPS ? best / COARSE_STEPS : t;
  return f(t) <= f(atEnd) ? t : atEnd;
}

/** Speed at which a part fills what another one leaves of a level by energy; 0 where that leaves nothing. */
function speedOf(part: NoisyPart, total_dBA: number, other_dBA: number): number {
  const left = 10 ** (total_dBA / 10) - 10 ** (other_dBA / 10);
  return left <= 0 ? 0 : 10 ** ((10 * Math.log10(left) - part.a_dBA) / part.b_dB_per_decade);
}

function levelOf(part: NoisyPart, rpm: number): number {
  return part.a_dBA + part.b_dB_per_decade * Math.log10(rpm);
}
