import { labData } from '../../src/lab/lab-data.generated.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';

export const MARKUP = 'Reed Lane <b>bench</b> & co';

/** Files of a bench of invented coolers with sound, prices, several speeds, a chip beside the heater and a name that would be markup if it were not escaped. */
export function exampleFiles(coolers = 5, seed = 11): Map<string, Uint8Array> {
  const { files } = makeVirtualBench({
    seed,
    name: MARKUP,
    coolers,
    samples: 2,
    mounts: 2,
    conditions: [
      { power_W: 60, speed: 1 },
      { power_W: 120, speed: 1 },
      { power_W: 180, speed: 1 },
      { power_W: 120, speed: 0.7 },
      { power_W: 180, speed: 0.5 },
    ],
    zeroLoadRuns: 1,
    chips: [{ chip: labData.chips[0], coolers: ['cooler-1', 'cooler-2'], loads_W: [80, 140] }],
  });
  return files;
}
