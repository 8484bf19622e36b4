import { demoDecisions, demoLogs, demoProfile, demoSpreadsheet, demoSurfaces } from './demo-extras.ts';
import { labData } from './lab-data.generated.ts';
import { makeVirtualBench, type VirtualBench } from './virtual-bench.ts';

/** Which demo bench. */
export interface DemoOptions {
  /** Another seed is another lab: other samples, mounts, sensor errors (1). */
  seed?: number;
  /** Plants a strange mount and a typing error, which bench.yaml names (false). */
  faults?: boolean;
}

const inDemo = ['Siskin', 'Hornbeam', 'Lapwing', 'Rowan', 'Sallow', 'Bittern', 'Merganser'];
const SETPOINT_C = 22;
/** A mount with too little paste. */
const strangeMount = { cooler: 'Lapwing', sample: '1', mount: '2', interface_K_per_W: 0.03 };

/**
 * The demo bench with the truth behind it: seven invented coolers at 60, 120 and 180 W and full speed, at two lower speeds
 * besides, each fitted twice, three in two samples, over two sessions that share a reference cooler; runs without load; three
 * coolers on a chip; sound, logs, surfaces, a decision record, a load profile, and a table to import.
 */
export function demoBench(options: DemoOptions = {}): VirtualBench {
  const seed = options.seed ?? 1;
  const bench = makeVirtualBench({
    seed,
    name: 'Quarry Lane cooler bench (invented)',
    coolers: inDemo.map((name) => labData.coolers.find((spec) => spec.cooler === name)!),
    samples: { Siskin: 2, Hornbeam: 2, Rowan: 2 },
    mounts: 2,
    sessions: ['march', 'may'],
    reference_cooler: 'Rowan',
    conditions: [
      { power_W: 60, speed: 1 },
      { power_W: 120, speed: 1 },
      { power_W: 180, speed: 1 },
      { power_W: 120, speed: 0.75 },
      { power_W: 180, speed: 0.55 },
    ],
    chips: [
      {
        chip: { ...labData.chips[0], source: 'Kestrel' },
        coolers: ['Siskin', 'Rowan', 'Merganser'],
        loads_W: [70, 130],
      },
    ],
    scatter: { mount_K_per_W: 0.0025, sample_K_per_W: 0.001, session_K_per_W: 0.001, reading_K: 0.08 },
    heaterLeak: { value: 0.05, uncertainty: 0.01 },
    zeroLoadRuns: 1,
    ambient: { setpoint_C: SETPOINT_C },
    background_dBA: 21,
    distance_mm: 800,
    ...(options.faults && { faults: [strangeMount] }),
  });
  const texts = new Map([
    ...demoLogs(bench.truth, SETPOINT_C, seed),
    ...demoSurfaces(),
    ['decisions.yaml', demoDecisions],
    ['steps.csv', demoProfile],
    ['spreadsheet.csv', demoSpreadsheet],
    ['README.md', readme],
  ]);
  for (const [name, text] of texts) bench.files.set(name, new TextEncoder().encode(text));
  if (options.faults) plantTypingError(bench.files);
  return bench;
}

/** Two digits of a source temperature change places, as fingers do; bench.yaml says of which run, and of the strange mount. */
function plantTypingError(files: Map<string, Uint8Array>): void {
  const text = (name: string) => new TextDecoder().decode(files.get(name));
  const lines = text('runs.csv').split('\n');
  const [run, cooler, , source] = ['run', 'cooler', 'power_W', 'source_C'].map((name) =>
    lines[0].split(',').indexOf(name),
  );
  const swapped = (cell: string) => cell.replace(/(\d)\.(\d)/, '$2.$1');
  const apart = (line: string) => {
    const cells = line.split(',');
    return cells[cooler] === 'Hornbeam'
      ? Math.abs(Number(swapped(cells[source])) - Number(cells[source]))
      : 0;
  };
  const at = lines.reduce((best, line, k) => (k > 0 && apart(line) > apart(lines[best]) ? k : best), 1);
  const cells = lines[at].split(',');
  const right = cells[source];
  cells[source] = swapped(right);
  lines[at] = cells.join(',');
  const said = [
    '',
    '# Planted by init --faults, for screen to find:',
    `# mount ${strangeMount.mount} of ${strangeMount.cooler} has too little paste, ${strangeMount.interface_K_per_W} K/W more than it should;`,
    `# the source of run ${cells[run]} was ${right} °C and two of its digits changed places in typing: ${cells[source]}.`,
    '',
  ];
  files.set('runs.csv', new TextEncoder().encode(lines.join('\n')));
  files.set('bench.yaml', new TextEncoder().encode(`${text('bench.yaml')}${said.join('\n')}`));
}

const readme = `# A demo bench

Nobody measured these numbers. A simulated heater stood in for a processor under seven simulated coolers, whose names are
invented; put your own files in their place.

| file | holds |
|---|---|
| \`bench.yaml\` | what the instruments are worth |
| \`runs.csv\` | one line for each steady state: two sessions with a reference cooler, a chip beside the heater |
| \`coolers.csv\` | what is known of each cooler |
| \`noise.csv\` | what the sound-level meter read |
| \`logs.csv\`, \`logs\` | a dozen raw logs, for \`reduce\` and \`simulate\` |
| \`flatness\` | depth-gauge maps of two bases |
| \`decisions.yaml\` | what stands behind a published chart |
| \`steps.csv\` | a load profile, for \`simulate\` |
| \`spreadsheet.csv\` | a table of another lab as its spreadsheet saves it, for \`import\` |

## Before you build a real one

- A cartridge heater takes mains voltage or a high current: fuse it, earth the metal block, keep wires clear of the fans.
- Fit a cut-out that works by itself (a thermal switch on the block), not only one in software. A heater whose cooler has come off is
  hundreds of degrees hot within minutes.
- Somebody stays with it while it heats. Nothing that burns lies near it.
- The block and the cooler stay hot after switching off: let them cool before changing a mount.
- Fan blades cut; liquid coolers can leak: keep supplies above and away from them.
- A load beyond what was tested is a guess until it is run: raise it in steps and watch the source's temperature.
`;
