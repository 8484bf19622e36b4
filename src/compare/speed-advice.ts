import { speedWorth } from '../predict/speed-spread.ts';
import type { ComparedCooler } from './rise-limits.ts';

/** Share of the variance of a difference from which on the speeds are what stands in the way (an assumption). */
const DOMINANT = 0.5;

/**
 * What to say of a tie at equal sound when it rests on not knowing the fan speeds: fresh mounts would not help, readings
 * of sound would.
 *
 * @param g         index of the load
 * @param multiple  critical multiple with which the limits were taken
 * @returns a sentence, empty where the speeds are not what counts most
 * It reads 'The fan speed for this level is what is least known: first take more sound readings of Bittern near 1671 rpm …'
 */
export function speedAdvice(a: ComparedCooler, b: ComparedCooler, g: number, multiple: number): string {
  const worth = [a, b].map((cooler) => speedWorth(cooler.limits[g].distribution.speedShifts));
  const rest = [a, b].map(({ limits }) => Math.max(limits[g].down_K, limits[g].up_K) / multiple);
  const speeds = worth[0] ** 2 + worth[1] ** 2;
  if (!(speeds > DOMINANT * (rest[0] ** 2 + rest[1] ** 2))) return '';
  const [cooler, share_K] = worth[0] >= worth[1] ? [a, worth[0]] : [b, worth[1]];
  const { fan_rpm, speed, uncertainty } = cooler.at;
  const u_rpm = speed > 0 ? (uncertainty * fan_rpm) / speed : 0;
  return `The fan speed for this level is what is least known: first take more sound readings of ${cooler.name} near ${Math.round(fan_rpm)} rpm (known to ±${Math.round(u_rpm)} rpm, worth ±${share_K.toFixed(1)} K), or runs at that speed with their sound metered.`;
}
