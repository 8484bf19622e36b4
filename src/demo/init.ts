import { labData } from '../lab/lab-data.generated.ts';
import { makeVirtualBench, type VirtualBench } from '../lab/virtual-bench.ts';

/** Which demo bench. */
export interface InitOptions {
  /** Another seed is another lab: other samples, mounts, sensor errors (1). */
  seed?: number;
}

const inDemo = ['Siskin', 'Hornbeam', 'Lapwing', 'Rowan', 'Sallow', 'Bittern', 'Merganser'];

/**
 * The demo bench with the truth behind it: seven invented coolers at 60, 120 and 180 W and full speed, at two lower speeds besides, each fitted
 * twice, the two most alike in two samples; two runs without load.
 */
export function demoBench(options: InitOptions = {}): VirtualBench {
  const bench = makeVirtualBench({
    seed: options.seed ?? 1,
    name: 'Quarry Lane cooler bench (invented)',
    coolers: inDemo.map((name) => labData.coolers.find((spec) => spec.cooler === name)!),
    samples: { Siskin: 2, Hornbeam: 2, Rowan: 2 },
    mounts: 2,
    conditions: [
      { power_W: 60, speed: 1 },
      { power_W: 120, speed: 1 },
      { power_W: 180, speed: 1 },
      { power_W: 120, speed: 0.75 },
      { power_W: 180, speed: 0.55 },
    ],
    scatter: { mount_K_per_W: 0.0025, sample_K_per_W: 0.001, reading_K: 0.08 },
    heaterLeak: { value: 0.05, uncertainty: 0.01 },
    zeroLoadRuns: 2,
  });
  bench.files.set('README.md', new TextEncoder().encode(readme));
  return bench;
}

/**
 * Files of the demo bench, by name. The same seed gives the same bytes.
 *
 * @example [...init().keys()] // ['bench.yaml', 'runs.csv', 'coolers.csv', 'noise.csv', 'README.md']
 */
export function init(options: InitOptions = {}): Map<string, Uint8Array> {
  return demoBench(options).files;
}

const readme = `# A demo bench

Nobody measured these numbers. A simulated heater stood in for a processor under seven simulated coolers, whose names are
invented; put your own files in their place. \`bench.yaml\` says what the instruments are worth, \`runs.csv\` has one line for each steady state,
\`coolers.csv\` what is known of each cooler, \`noise.csv\` what the sound-level meter read.

## Before you build a real one

- A cartridge heater takes mains voltage or a high current: fuse it, earth the metal block, keep wires clear of the fans.
- Fit a cut-out that works by itself (a thermal switch on the block), not only one in software. A heater whose cooler has come off is
  hundreds of degrees hot within minutes.
- Somebody stays with it while it heats. Nothing that burns lies near it.
- The block and the cooler stay hot after switching off: let them cool before changing a mount.
- Fan blades cut; liquid coolers can leak: keep supplies above and away from them.
- A load beyond what was tested is a guess until it is run: raise it in steps and watch the source's temperature.
`;
