import * as v from 'valibot';
import type { Bench, Chip } from './bench.ts';
import type { BenchError } from './bench-error.ts';
import { benchName, type Quantity } from './quantity.ts';
import { CHIP_DEFAULTS, LEAK_DEFAULT } from './source.ts';
import { readText } from './table.ts';
import { type Section, SectionReader } from './yaml-sections.ts';

/** What `bench.yaml` says, defaults filled in, and where it says so. */
export interface BenchSettings
  extends Pick<
    Bench,
    | 'name'
    | 'ambient'
    | 'altitude_m'
    | 'instruments'
    | 'heater'
    | 'chips'
    | 'methods'
    | 'sessions'
    | 'reference_cooler'
  > {
  extra: Record<string, unknown>;
  warnings: string[];
  /** A fault at a path of keys. */
  fault: (path: readonly string[], what: string) => BenchError;
  columns: Readonly<Record<string, string>>;
}

const temperatureInstrument: Section = {
  quantities: [
    { quantity: 'systematic', dimension: 'difference' },
    { quantity: 'resolution', dimension: 'difference' },
  ],
};

const leak = { quantity: 'leak', dimension: 'conductance' } as const;

const layout: Section = {
  sections: {
    ambient: {
      quantities: [
        { quantity: 'setpoint', dimension: 'temperature' },
        { quantity: 'tolerance', dimension: 'difference' },
      ],
    },
    instruments: {
      sections: {
        source_temperature: temperatureInstrument,
        ambient_temperature: temperatureInstrument,
        power: { quantities: [{ quantity: 'systematic', dimension: 'share' }] },
        sound_level: {
          quantities: [
            { quantity: 'systematic', dimension: 'levelDifference' },
            { quantity: 'sample', dimension: 'levelDifference' },
            { quantity: 'background', dimension: 'level' },
            { quantity: 'distance', dimension: 'length' },
          ],
        },
      },
    },
    heater: {
      quantities: [
        { quantity: 'power_max', dimension: 'power' },
        { quantity: 'temperature_limit', dimension: 'limit' },
        leak,
      ],
      pairs: [{ quantity: 'face', dimension: 'length' }],
    },
  },
  lists: {
    chips: {
      keep: true,
      others: ['chip'],
      later: ['geometry', 'clock'],
      quantities: [
        { quantity: 'temperature_limit', dimension: 'limit' },
        { quantity: 'sensor_systematic', dimension: 'difference' },
        { quantity: 'power_systematic', dimension: 'share' },
        leak,
      ],
    },
  },
  quantities: [{ quantity: 'altitude', dimension: 'height' }],
  later: ['planning'],
  texts: ['columns'],
  others: ['name', 'methods', 'sessions', 'reference_cooler'],
};

/** Every quantity of the file, whichever mapping it stands in. */
export const yamlQuantities: readonly Quantity[] = gather(layout);

/** Every key that is read, of whichever mapping. */
export const yamlKeys: readonly string[] = [...new Set(keysOf(layout))];

/** All keys of a section and its inner ones. */
function keysOf(section: Section): string[] {
  const { sections = {}, lists = {}, texts = [], others = [], later = [] } = section;
  const inner = { ...sections, ...lists };
  const own = [...(section.quantities ?? []), ...(section.pairs ?? [])].map(benchName);
  return [
    ...own,
    ...Object.keys(inner),
    ...texts,
    ...others,
    ...later,
    ...Object.values(inner).flatMap(keysOf),
  ];
}

/** All quantities of a section and its inner ones. */
function gather(section: Section): Quantity[] {
  const inner = [...Object.values(section.sections ?? {}), ...Object.values(section.lists ?? {})];
  return [...(section.quantities ?? []), ...(section.pairs ?? []), ...inner.flatMap(gather)];
}

const number = v.number('needs a number');
const atMost = v.maxValue<number, number, string>(1e6, 'must be at most 1000000');
const positive = v.pipe(number, v.gtValue(0, 'must be greater than 0'), atMost);
const side = v.pipe(
  number,
  v.minValue(2, 'must be at least 2 mm each way'),
  v.maxValue(200, 'must be at most 200 mm each way'),
);
const notNegative = v.pipe(number, v.minValue(0, 'must not be negative'), atMost);
const percent = v.pipe(number, v.minValue(0, 'must not be negative'), v.maxValue(100, 'must be at most 100'));
const temperature = v.pipe(
  number,
  v.minValue(-273.15, 'is below absolute zero'),
  v.maxValue(1000, 'must be at most 1000 °C'),
);
const roomTemperature = v.pipe(
  number,
  v.minValue(-60, 'must be at least -60 °C'),
  v.maxValue(80, 'must be at most 80 °C'),
);
const name = v.pipe(
  v.string('needs a name'),
  v.trim(),
  v.minLength(1, 'needs a name'),
  v.maxLength(200, 'must be at most 200 characters long'),
  v.regex(/^\P{C}*$/u, 'must not hold line breaks or invisible characters'),
  v.transform((text) => text.normalize('NFC')),
);
const list = v.array(
  v.union(
    [
      v.string(),
      v.number(),
      v.pipe(
        v.record(v.string(), v.unknown()),
        v.check((item) => !Array.isArray(item), 'must be a name or a mapping'),
      ),
    ],
    'must be a name or a mapping',
  ),
  'must be a list, each item on its own line after "- "',
);
const leakSchema = v.optional(
  v.object({
    value: v.optional(notNegative, LEAK_DEFAULT.value),
    uncertainty: v.optional(notNegative, LEAK_DEFAULT.uncertainty),
  }),
  {},
);
const temperatureSchema = (systematic_K: number) =>
  v.optional(
    v.object({
      systematic_K: v.optional(notNegative, systematic_K),
      resolution_K: v.optional(notNegative, 0.1),
    }),
    {},
  );
const chipSchema = v.object(
  {
    chip: name,
    temperature_limit_C: v.optional(temperature),
    sensor_systematic_K: v.optional(notNegative, CHIP_DEFAULTS.sensor_systematic_K),
    power_systematic_percent: v.optional(percent, CHIP_DEFAULTS.power_systematic_percent),
    leak_W_per_K: leakSchema,
    extra: v.optional(v.any(), {}),
  },
  'needs a name',
);

const schema = v.object({
  name: v.optional(name, 'bench'),
  ambient: v.optional(
    v.object({ setpoint_C: v.optional(roomTemperature, 22), tolerance_K: v.optional(notNegative, 1) }),
    {},
  ),
  altitude_m: v.optional(
    v.pipe(number, v.minValue(-500, 'must be at least -500 m'), v.maxValue(9000, 'must be at most 9000 m')),
  ),
  instruments: v.optional(
    v.object({
      source_temperature: temperatureSchema(0.5),
      ambient_temperature: temperatureSchema(0.3),
      power: v.optional(v.object({ systematic_percent: v.optional(percent, 0.5) }), {}),
      sound_level: v.optional(
        v.object({
          systematic_dB: v.optional(notNegative, 1),
          sample_dB: v.optional(notNegative),
          background_dBA: v.optional(
            v.pipe(number, v.minValue(0, 'must not be negative'), v.maxValue(194, 'must be at most 194')),
          ),
          distance_mm: v.optional(positive),
        }),
        {},
      ),
    }),
    {},
  ),
  heater: v.optional(
    v.object({
      power_max_W: v.optional(positive),
      temperature_limit_C: v.optional(temperature),
      face_mm: v.optional(v.tuple([side, side])),
      leak_W_per_K: leakSchema,
    }),
    {},
  ),
  chips: v.optional(v.array(chipSchema, 'must be a list, each chip after "- "'), []),
  methods: v.optional(list, []),
  sessions: v.optional(list, []),
  reference_cooler: v.optional(name),
  columns: v.optional(v.any(), {}),
});

/**
 * Reads `bench.yaml`: YAML 1.2 without aliases, own tags or repeated keys, every key optional.
 *
 * A leak may be a number or `{value, uncertainty}`; what is left out of it is 0 and 0.05 W/K, for a chip too.
 *
 * @throws BenchError at the line and column of the first fault
 */
export function readBenchYaml(file: string, bytes: Uint8Array): BenchSettings {
  const text = readText(file, bytes, 1024 * 1024);
  const reader = new SectionReader(file, text);
  const plain = reader.root === undefined ? {} : reader.section(reader.root, layout, '');
  const extra = plain.extra as Record<string, unknown>;
  delete plain.extra;
  const result = v.safeParse(schema, plain, { abortEarly: true });
  if (!result.success) {
    const issue = result.issues[0];
    const path = (issue.path ?? []).map((item) => String(item.key));
    throw reader.issue(path, issue.message);
  }
  const settings = result.output;
  const chips = settings.chips as Chip[];
  chips.forEach((chip, index) => {
    if (chip.chip === 'heater') {
      throw reader.issue(
        ['chips', String(index), 'chip'],
        'must not be "heater", which is the name of the dummy heater',
      );
    }
    if (chips.findIndex((other) => other.chip === chip.chip) < index) {
      throw reader.issue(['chips', String(index), 'chip'], 'is there already; each chip is listed once');
    }
  });
  return {
    ...settings,
    chips,
    extra: extra ?? Object.create(null),
    warnings: reader.warnings,
    columns: settings.columns as Record<string, string>,
    fault: (path, what) => reader.at(path, what),
  };
}
