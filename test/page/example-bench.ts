import { labData } from '../../src/lab/lab-data.generated.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { logsThatPart } from '../screen/parting-logs.ts';

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

/** The bench of a lab that runs a reference cooler in every session, with contact maps and a record of a published chart. */
export function monthsFiles(): Map<string, Uint8Array> {
  const { files } = makeVirtualBench({
    seed: 5,
    name: 'Months <b>of</b> it',
    coolers: 3,
    samples: 1,
    mounts: 2,
    sessions: ['spring', 'summer', 'autumn', 'winter'],
    reference_cooler: 'cooler-1',
    conditions: [
      { power_W: 80, speed: 1 },
      { power_W: 160, speed: 1 },
    ],
  });
  const text = (name: string): string => new TextDecoder().decode(files.get(name));
  const put = (name: string, content: string): unknown => files.set(name, new TextEncoder().encode(content));
  // The probe sits 2 K off in the third session, on every run alike.
  const [head, ...rows] = text('runs.csv').trim().split(/\r?\n/);
  const names = head.split(',');
  const [session, source] = ['session', 'source_C'].map((name) => names.indexOf(name));
  const moved = rows.map((row) => {
    const cells = row.split(',');
    if (cells[session] === 'autumn') cells[source] = (Number(cells[source]) + 2).toFixed(1);
    return cells.join(',');
  });
  put('runs.csv', `${[head, ...moved].join('\n')}\n`);
  put(
    'flatness/cooler-2-1.csv',
    `x_mm,y_mm,depth_um\n${[-10, 0, 10].flatMap((y) => [-10, 0, 10].map((x) => `${x},${y},${(x * x + y * y) / 8}`)).join('\n')}\n`,
  );
  put(
    'decisions.yaml',
    `charts:
  - chart: spring round-up <b>
    published: 2025-03-14
    dataset: ${'0'.repeat(64)}
    excluded: [{name: ${moved[0].split(',')[names.indexOf('run')]}, reason: probe fell off & hung}]
    corrections: [{date: 2025-04-02, what: the autumn session set aside}]
`,
  );
  return files;
}

/** A bench of many sessions that changed its test method half way, with coolers run under both. */
export function methodsFiles(): Map<string, Uint8Array> {
  const sessions = ['January', 'March', 'May', 'July', 'September', 'November'].map(
    (month) => `2024 ${month}`,
  );
  const { files } = makeVirtualBench({
    seed: 3,
    name: 'Two methods',
    coolers: 3,
    samples: 1,
    mounts: 6,
    sessions,
    reference_cooler: 'cooler-1',
    conditions: [
      { power_W: 80, speed: 1 },
      { power_W: 160, speed: 1 },
    ],
  });
  const [head, ...rows] = new TextDecoder().decode(files.get('runs.csv')).trim().split(/\r?\n/);
  const session = head.split(',').indexOf('session');
  const under = rows.map(
    (row) => `${row},${sessions.indexOf(row.split(',')[session]) < 3 ? 'open' : 'boxed'}`,
  );
  files.set('runs.csv', new TextEncoder().encode(`${[`${head},method`, ...under].join('\n')}\n`));
  return files;
}

/** A bench on which one mount has a thick film of paste, with the logs of that mount and of the other of its cooler. */
export function partedFiles(): Map<string, Uint8Array> {
  const { files } = makeVirtualBench({
    seed: 11,
    name: 'Parted <b>logs</b>',
    coolers: 4,
    samples: 1,
    mounts: 2,
    loads_W: [60, 160],
    speeds: [1],
    faults: [{ cooler: 'cooler-2', sample: '1', mount: '2', interface_K_per_W: 0.06 }],
  });
  const [head, ...rows] = new TextDecoder().decode(files.get('runs.csv')).trim().split(/\r?\n/);
  const names = head.split(',');
  const cell = (row: string, name: string): string => row.split(',')[names.indexOf(name)];
  const own = rows.filter((row) => cell(row, 'cooler') === 'cooler-2' && Number(cell(row, 'power_W')) > 150);
  const { mate, odd } = logsThatPart('interface', 5, 160);
  const put = (name: string, text: string): unknown => files.set(name, new TextEncoder().encode(text));
  put('logs/mate.csv', mate);
  put('logs/odd.csv', odd);
  const entries = own.map(
    (row) =>
      `${cell(row, 'run')},cooler-2,1,${cell(row, 'mount')},heater,logs/${cell(row, 'mount') === '2' ? 'odd' : 'mate'}.csv`,
  );
  put('logs.csv', `run,cooler,sample,mount,source,log\n${entries.join('\n')}\n`);
  return files;
}
