import { speedIsOutside } from '../fit/cooler-runs.ts';
import type { CoolerAtSpeed } from '../predict/at-conditions.ts';
import { fanShare } from '../predict/predict.ts';
import type { SpeedNotRun } from './comparison.ts';

/** The coolers of a comparison that are asked for at a fan speed outside those that they were run at. */
export function speedsNotRun(coolers: readonly CoolerAtSpeed[]): SpeedNotRun[] {
  return coolers.flatMap(({ cooler: { data }, at }) => {
    if (speedIsOutside(data, fanShare(at)) === 0) return [];
    const { cooler, fan_max_rpm } = data.cooler;
    return [
      {
        cooler,
        fan_rpm: at.fan_rpm,
        lowest_run_rpm: data.speedLow * fan_max_rpm,
        greatest_run_rpm: data.speedHigh * fan_max_rpm,
      },
    ];
  });
}
