/**
 * Benches that a reader accepts and nobody would make on purpose: a single run, identical rows, loads of milliwatts and of
 * a megawatt, rises below nothing, fans that stand still, more leaking away than is put in.
 */
import fc from 'fast-check';

const pick = <T>(...values: T[]) => fc.noBias(fc.constantFrom(...values));

interface OddRun {
  cooler: string;
  power_W: number;
  fan_rpm: number | '';
  rise_K: number;
  sample: string;
  mount: string;
  session: string;
  method: string;
  source: string;
  u_K: string;
  sound_dBA: string;
  pressure_hPa: string;
  orientation: string;
  pump_rpm: string;
}

const usual = fc.record({
  power_W: pick(60, 90, 120, 150, 180, 220),
  fan_rpm: pick(600, 900, 1500),
  resistance: fc.double({ min: 0.12, max: 0.35, noNaN: true }),
});
const odd = fc.record({
  power_W: pick(0, 0.001, 1, 5, 60, 1000, 1e5, 1e6),
  fan_rpm: pick(0, 1, 900, 1500, 1e6),
  resistance: pick(0, 1e-9, 0.001, 0.2, 0.2, 3, 1e6, -0.01),
});

const run = (oddness: number): fc.Arbitrary<OddRun> =>
  fc
    .record({
      physics: fc.oneof({ weight: 10 - oddness, arbitrary: usual }, { weight: oddness, arbitrary: odd }),
      cooler: pick('A', 'A', 'B', 'B', 'C'),
      sample: pick('1', '1', '2', ''),
      mount: pick('a', 'a', 'b', 'c', ''),
      session: pick('', '', 'spring', 'autumn'),
      method: pick('', '', '', 'closed'),
      source: pick('heater', 'heater', 'heater', 'slate'),
      u_K: pick('', '', '0', '1e-9', '0.1', '50'),
      sound_dBA: pick('', '', '35', '26.5', '0'),
      pressure_hPa: pick('', '', '1013', '700'),
      orientation: pick('', '', 'upright'),
      pump_rpm: pick('', '', '0', '2600'),
    })
    .map(({ physics, ...rest }) => ({
      ...rest,
      power_W: physics.power_W,
      fan_rpm: physics.fan_rpm,
      rise_K: Math.max(-1, Math.min(900, physics.power_W * physics.resistance)),
    }));

const settings = fc
  .record({
    instruments: pick(
      '',
      'instruments: {source_temperature: {systematic_K: 0, resolution_K: 0}, ambient_temperature: {systematic_K: 0, resolution_K: 0}, power: {systematic_percent: 0}}\n',
      'instruments: {source_temperature: {systematic_K: 1000}, power: {systematic_percent: 100}, sound_level: {systematic_dB: 0, background_dBA: 26}}\n',
      'instruments: {sound_level: {background_dBA: 40, distance_mm: 500}}\n',
    ),
    heater: pick(
      '',
      'heater: {leak_W_per_K: 0}\n',
      'heater: {temperature_limit_C: 60, leak_W_per_K: {value: 0.05, uncertainty: 0.01}}\n',
      'heater: {leak_W_per_K: {value: 5, uncertainty: 5}}\n',
      'heater: {leak_W_per_K: {value: 100000, uncertainty: 0}}\n',
    ),
    chips: pick('', 'chips: [{chip: slate, temperature_limit_C: 95, sensor_systematic_K: 0}]\n'),
    reference: pick('', '', 'reference_cooler: A\n'),
    ambient: pick('', 'ambient: {setpoint_C: -60, tolerance_K: 0}\n', 'ambient: {setpoint_C: 80}\n'),
  })
  .map((parts) => `name: odd\n${Object.values(parts).join('')}`);

const coolers = pick(
  '',
  'cooler,kind,heat_pipes,heat_pipe_diameter_mm,fan_max_rpm,fan_min_rpm\nA,air,0,6,1500,0\nB,liquid,,,2000,2000\nC,air,100,0.001,,\n',
  'cooler,kind,heat_pipes,heat_pipe_diameter_mm,fan_max_rpm\nA,air,6,6,1\nB,air,4,10000,1000000\nC,liquid,2,8,0\nD,air,,,\n',
);
const noise = pick(
  '',
  'cooler,fan_rpm,sound_dBA\nA,600,27\nA,1500,38\nB,900,30\nB,1800,41\n',
  'cooler,fan_rpm,sound_dBA\nA,0,0\nA,1000000,194\nB,900,30\nB,900,30\nC,900,\n',
);

/** The files of an odd bench. */
export const oddBench: fc.Arbitrary<Map<string, Uint8Array>> = fc
  .record({
    runs: pick(0, 1, 3, 10).chain((oddness) =>
      fc.oneof(
        fc.array(run(oddness), { minLength: 1, maxLength: 14 }),
        // The same row again and again.
        fc.tuple(run(oddness), fc.nat(5)).map(([one, more]) => Array.from({ length: 1 + more }, () => one)),
      ),
    ),
    settings,
    coolers,
    noise,
    ambient: pick(22, 22, -60, 80),
    /** Columns that the file leaves out. */
    without: fc.noBias(
      fc.subarray([
        'sample',
        'mount',
        'session',
        'method',
        'u_K',
        'sound_dBA',
        'pressure_hPa',
        'orientation',
        'pump_rpm',
      ]),
    ),
  })
  .map((bench) => {
    const columns = [
      'cooler',
      'power_W',
      'fan_rpm',
      'source_C',
      'ambient_C',
      ...[
        'sample',
        'mount',
        'session',
        'method',
        'source',
        'u_K',
        'sound_dBA',
        'pressure_hPa',
        'orientation',
        'pump_rpm',
      ].filter((column) => !bench.without.includes(column)),
    ];
    const rows = bench.runs.map((one) => {
      const row: Record<string, string | number> = {
        ...one,
        ambient_C: bench.ambient,
        source_C: Math.min(1000, bench.ambient + one.rise_K),
      };
      return columns.map((column) => row[column]).join(',');
    });
    const files: [string, string][] = [
      ['bench.yaml', bench.settings],
      ['runs.csv', `${columns.join(',')}\n${rows.join('\n')}\n`],
      ...(bench.coolers ? [['coolers.csv', bench.coolers] as [string, string]] : []),
      ...(bench.noise ? [['noise.csv', bench.noise] as [string, string]] : []),
    ];
    return new Map(files.map(([name, text]) => [name, new TextEncoder().encode(text)]));
  });
