import { largest, smallest } from '../numerics/extremes.ts';
import { solveLeastSquares } from '../numerics/least-squares/least-squares.ts';
import { submatrix } from '../numerics/matrix.ts';
import { SAME_PUMP_SPEED } from './collect-noise.ts';
import { energySum } from './energy-sum.ts';
import type { MeterErrors } from './meter-sessions.ts';
import type { NoisyPart } from './pump-and-fan.ts';

/** A metered level of a liquid cooler with the speeds of both its noisy parts. */
export interface PumpAndFanReading {
  fan_rpm: number;
  pump_rpm: number;
  sound_dBA: number;
  /** Session of the meter, where the bench has several. */
  session?: string;
}

/** The laws `L = a + b·lg(rpm)` of a liquid cooler's fans and pump, heard together. */
export interface PumpAndFanSound {
  fan: Pick<NoisyPart, 'a_dBA' | 'b_dB_per_decade'>;
  pump: Pick<NoisyPart, 'a_dBA' | 'b_dB_per_decade'>;
  /** Levels at 1000 rpm and slopes in the order fan level, fan slope, pump level, pump slope. */
  parameters: Float64Array;
  /** Their covariance, 4 × 4. */
  covariance: Float64Array;
  /** Scatter of the readings about the two laws, bumps in it, dB. */
  residual_dB: number;
  readings: number;
}

/** Laws from parameters, for what-if questions about them. */
export function lawsOf(parameters: ArrayLike<number>): Pick<PumpAndFanSound, 'fan' | 'pump'> {
  const law = (level: number, slope: number) => ({ a_dBA: level - 3 * slope, b_dB_per_decade: slope });
  return { fan: law(parameters[0], parameters[1]), pump: law(parameters[2], parameters[3]) };
}

// The fan's slope as everywhere. A pump's sound is more of tones and less of flow, so its slope is looser (common
// practice, no source). Levels at 1000 rpm are left open.
const PRIORS = [
  { mean: 30, standardDeviation: 20 },
  { mean: 50, standardDeviation: 5 },
  { mean: 20, standardDeviation: 20 },
  { mean: 45, standardDeviation: 15 },
];
const LAWS = PRIORS.length;
/** Least scatter believed: bumps of fans and pumps are 0.5 dB and more, whatever few readings seem to say (an assumption). */
const LEAST_SCATTER_dB = 0.5;

/**
 * The sound of pump and fan told apart.
 *
 * Two incoherent sources and the background add on an energy basis, so one reading cannot say which of them it hears.
 * Readings at several speeds of either can: while the fan changes, the part that stays is the pump's, and the other way
 * round. Both laws are fitted at once, forward through the energy sum, to all readings; a fan at rest (0 rpm) is silent,
 * and such a reading is the best there is of the pump.
 *
 * @param readings        of one cooler, each with both speeds
 * @param background_dBA  level with both at rest
 * @param meter           errors of the meter by session: what is known of them is taken off the levels, what is not is left open in the laws
 * @returns the laws, or the reason why they cannot be told apart
 * @example fitPumpSound(pumpReadings, 26) // the laws of fan and pump
 */
export function fitPumpSound(
  readings: readonly PumpAndFanReading[],
  background_dBA: number | undefined,
  meter?: MeterErrors,
): PumpAndFanSound | string {
  const pumps = readings.map((r) => r.pump_rpm).filter((rpm) => rpm > 0);
  if (pumps.length === 0) return 'no sound reading gives a pump_rpm';
  if (largest(pumps) < SAME_PUMP_SPEED * smallest(pumps)) {
    return 'its sound was metered at one pump speed only; meter it at a second';
  }
  if (readings.length < 4)
    return `${readings.length} sound readings with a pump_rpm are too few; 4 or more are needed`;
  const background = background_dBA ?? Number.NEGATIVE_INFINITY;
  const errors = readings.map(({ session = '' }) => meterError(meter, session));
  const open = errors[0].root.length;
  const size = LAWS + open;
  const none = new Array<number>(open).fill(0);
  let scatter = LEAST_SCATTER_dB;
  for (let round = 0; ; round++) {
    const fit = solveLeastSquares({
      residualCount: readings.length,
      names: ['fan level', 'fan slope', 'pump level', 'pump slope', ...none.map((_, k) => `meter ${k + 1}`)],
      start: [...PRIORS.map((prior) => prior.mean), ...none],
      moreStarts: [[20, 50, 35, 45, ...none]],
      priors: [...PRIORS, ...none.map(() => ({ mean: 0, standardDeviation: 1 }))],
      residual: (p, residuals, jacobian) =>
        readings.forEach((reading, i) => {
          const { fan, pump, metered } = levelsAt(p, reading, background, errors[i]);
          residuals[i] = (metered - reading.sound_dBA) / scatter;
          if (!jacobian) return;
          const fanShare = 10 ** ((fan - metered) / 10) / scatter;
          const pumpShare = 10 ** ((pump - metered) / 10) / scatter;
          const row = i * size;
          jacobian[row] = fanShare;
          jacobian[row + 1] = reading.fan_rpm > 0 ? fanShare * (Math.log10(reading.fan_rpm) - 3) : 0;
          jacobian[row + 2] = pumpShare;
          jacobian[row + 3] = reading.pump_rpm > 0 ? pumpShare * (Math.log10(reading.pump_rpm) - 3) : 0;
          errors[i].root.forEach((value, k) => {
            jacobian[row + LAWS + k] = (fanShare + pumpShare) * value;
          });
        }),
    });
    if (!fit.converged) return `its sound does not follow the laws of a pump and a fan: ${fit.reason}`;
    const levels = readings.map((reading, i) => levelsAt(fit.parameters, reading, background, errors[i]));
    const squares = levels.reduce((sum, { metered }, i) => sum + (metered - readings[i].sound_dBA) ** 2, 0);
    const seen = Math.sqrt(squares / Math.max(readings.length - 3, 1));
    if (round === 2 || Math.abs(Math.max(seen, LEAST_SCATTER_dB) - scatter) < 0.02) {
      const shares = levels.map(({ pump }, i) => 10 ** ((pump - readings[i].sound_dBA) / 10));
      if (Math.max(...shares) < 0.05)
        return 'its pump cannot be heard in any reading; meter it with the fan at rest or slow';
      const parameters = fit.parameters.slice(0, LAWS);
      const covariance = submatrix(fit.covariance, size, [0, 1, 2, 3]);
      return { ...lawsOf(parameters), parameters, covariance, residual_dB: seen, readings: readings.length };
    }
    scatter = Math.max(seen, LEAST_SCATTER_dB);
  }
}

/** What the meter reads too high in one session: an estimate, and what independent standard normal variables add to it, dB. */
interface MeterError {
  readonly offset_dB: number;
  readonly root: Float64Array;
}

function meterError(meter: MeterErrors | undefined, session: string): MeterError {
  const at = meter?.sessions.indexOf(session) ?? -1;
  const open = meter ? meter.root.length / meter.sessions.length : 0;
  if (!meter || at < 0) return { offset_dB: 0, root: new Float64Array(open) };
  return { offset_dB: meter.offset_dB[at], root: meter.root.slice(at * open, (at + 1) * open) };
}

/**
 * Levels of fan and pump as the meter shows them, each at 1000 rpm with its slope a decade in `p` and then what is open of the meter, and with
 * the background, which has no error of its own session; −∞ at rest.
 */
function levelsAt(
  p: Float64Array,
  { fan_rpm, pump_rpm }: Pick<PumpAndFanReading, 'fan_rpm' | 'pump_rpm'>,
  background_dBA: number,
  { offset_dB, root }: MeterError,
) {
  const high_dB = root.reduce((sum, value, k) => sum + value * p[LAWS + k], offset_dB);
  const [fan, pump] = [fan_rpm, pump_rpm].map((rpm, k) =>
    rpm > 0 ? high_dB + p[2 * k] + p[2 * k + 1] * (Math.log10(rpm) - 3) : Number.NEGATIVE_INFINITY,
  );
  return { fan, pump, metered: energySum([fan, pump, background_dBA]) };
}
