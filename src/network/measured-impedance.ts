import type { LogBlocks } from '../reduction/log-blocks.ts';
import type { StepResult } from '../reduction/reduce-log.ts';
import type { StepImpedance } from './structure-function.ts';

/**
 * The step impedance of a logged response: the rise over lagged ambient since just before the step, over the step of
 * the load. Blocks are those of the fit, about a row at first and longer later.
 *
 * @param loadBefore_W  load before the step
 * @returns times from half a reading on; needs a step with an asymptote
 */
export function measuredImpedance(log: LogBlocks, step: StepResult, loadBefore_W = 0): StepImpedance {
  const fit = step.asymptote;
  if (!fit) throw new RangeError('the step is too short for an impedance');
  const { blocks } = fit;
  const air = fit.ambientSeen();
  const { first } = step.step;
  const before = first > 0 ? first - 1 : first;
  const start = log.source_C[before] - log.ambient_C[before];
  const load = step.power_W - loadBefore_W;
  const time_s: number[] = [];
  const impedance_K_per_W: number[] = [];
  for (let k = first > 0 ? 0 : 1; k < blocks.count; k++) {
    time_s.push(blocks.time_s[k]);
    impedance_K_per_W.push((blocks.source_C[k] - air[k] - start) / load);
  }
  return { time_s, impedance_K_per_W };
}
