import { describe, expect, test } from 'vitest';
import { BenchError } from './bench-error.ts';
import { readBench } from './read-bench.ts';

const header = 'cooler,power_W,fan_rpm,source_C,ambient_C\n';
const healthy = `${header}A,150,900,61,22\n`;
const runs = (text: string) => ({ 'bench.yaml': 'name: x', 'runs.csv': text });
const yaml = (text: string) => ({ 'bench.yaml': text, 'runs.csv': healthy });
const beside = (file: string, text: string) => ({ ...runs(healthy), [file]: text });
const logs = (text: string) => ({ 'bench.yaml': '', 'logs.csv': text, 'logs/one.csv': '' });

const read = (files: Record<string, string | Uint8Array>) =>
  readBench(
    new Map(
      Object.entries(files).map(([path, text]) => [
        path,
        typeof text === 'string' ? new TextEncoder().encode(text) : text,
      ]),
    ),
  );

function message(files: Record<string, string | Uint8Array>): string {
  try {
    read(files);
  } catch (error) {
    expect(error).toBeInstanceOf(BenchError);
    return (error as BenchError).message;
  }
  return 'no fault';
}

const faults: Record<string, [string, Record<string, string | Uint8Array>, string][]> = {
  folder: [
    [
      'no bench.yaml',
      { 'runs.csv': healthy },
      'bench.yaml:1:1: the file is missing; a bench folder holds bench.yaml and runs.csv or logs.csv',
    ],
    [
      'bench.yml',
      { 'bench.yml': '', 'runs.csv': healthy },
      'bench.yaml:1:1: the file is missing; rename "bench.yml" to bench.yaml',
    ],
    [
      'no runs',
      { 'bench.yaml': '' },
      'runs.csv:1:1: the bench has neither runs.csv nor logs.csv; add one of them',
    ],
    [
      'no row',
      runs(header),
      'runs.csv:1:1: there is no row below the header; a bench needs at least one run',
    ],
  ],
  'text of a table': [
    ['empty', runs(''), 'runs.csv:1:1: the file is empty; it must begin with a line of column names'],
    [
      'vertical bars',
      runs('cooler|power_W\nA|1'),
      'runs.csv:1:7: cells are separated by vertical bars; save the table with commas, semicolons or tabs between cells',
    ],
    [
      'UTF-16',
      { 'bench.yaml': '', 'runs.csv': new Uint8Array([0xff, 0xfe, 0x63, 0]) },
      'runs.csv:1:1: the file is UTF-16; save it as UTF-8',
    ],
    [
      'Latin-1',
      { 'bench.yaml': '', 'runs.csv': new Uint8Array([0x61, 0x0a, 0x62, 0xe9, 0x0a]) },
      'runs.csv:2:2: a character that is not UTF-8; save the file as UTF-8',
    ],
    [
      'zero byte',
      runs(`${header}A\0`),
      'runs.csv:2:2: a zero byte; the file is not text, save it again as UTF-8',
    ],
    [
      'open quote',
      runs(`${header}A,1,1,"6`),
      'runs.csv:2:7: a quote is opened here and never closed; close it, or write a quote inside a cell twice ("")',
    ],
    [
      'stray quote',
      runs(`${header}A,1,1"2,1,1`),
      'runs.csv:2:6: a quote in the middle of a cell; put quotes around the whole cell and write the inner quote twice ("")',
    ],
    [
      'text after quote',
      runs(`${header}A,1,"1"2,1,1`),
      'runs.csv:2:8: text after the closing quote of a cell; write a quote inside a quoted cell twice ("")',
    ],
    [
      'too few cells',
      runs(`${header}A,150,900,61`),
      'runs.csv:2:11: the row ends here with 4 cells, but the header has 5; fill in the missing cells (an empty cell still needs its separator)',
    ],
    [
      'too many cells',
      runs(`${header}A,182,5,900,61,22`),
      'runs.csv:2:16: the row has 6 cells, but the header has 5; put quotes around a cell that holds a comma, and write decimals with a point (182.5)',
    ],
    [
      'long cell',
      runs(`${header}${'A'.repeat(10_001)},1,1,1,1`),
      'runs.csv:2:1: the cell holds more than 10,000 characters; shorten it',
    ],
    [
      'many columns',
      runs(Array.from({ length: 300 }, (_, i) => `c${i}`).join()),
      'runs.csv:1:891: 300 columns; at most 200 are read',
    ],
  ],
  header: [
    [
      'repeated',
      runs('cooler,power_W,power_W\nA,1,1'),
      'runs.csv:1:16: column "power_W" appears twice; delete or rename one of the two',
    ],
    [
      'one quantity twice',
      runs('cooler,power_W,power_kW,fan_rpm,source_C,ambient_C\nA,1,1,1,1,1'),
      'runs.csv:1:16: "power_kW" and "power_W" are the same quantity; keep one of the two columns',
    ],
    [
      'no unit',
      runs('cooler,power,fan_rpm,source_C,ambient_C\nA,1,1,1,1'),
      'runs.csv:1:8: column "power" has no unit; write power_W, power_mW, power_kW, power_MW or power_hp',
    ],
    [
      'unknown unit',
      runs('cooler,power_w2,fan_rpm,source_C,ambient_C\nA,1,1,1,1'),
      'runs.csv:1:8: column "power_w2": "w2" is not a known unit of power; accepted: power_W, power_mW, power_kW, power_MW or power_hp (did you mean "power_W"?)',
    ],
    [
      'unit of an optional column',
      runs('cooler,power_W,fan_rpm,source_C,ambient_C,sound_dB\nA,1,1,1,1,33'),
      'runs.csv:1:43: column "sound_dB": "dB" is not a known unit of A-weighted sound level; accepted: sound_dBA (did you mean "sound_dBA"?)',
    ],
    [
      'missing',
      runs('coolr,power_W,fan_rpm,ambient_C\nA,1,1,1'),
      'runs.csv:1:1: column "coolr" is nearly cooler; rename it, or say what it is: columns: {"coolr": cooler} in bench.yaml (no name to carry it along unread)',
    ],
    [
      'a heading for people that may be two things',
      runs('cooler,Power (kW),fan_rpm,source_C,Temp (°C)\nA,1,1,1,1'),
      'runs.csv:1:36: column "Temp (°C)" may be source_C or ambient_C; rename it, or say what it is: columns: {"Temp (°C)": ambient_C} in bench.yaml',
    ],
    [
      'unnamed',
      runs('cooler,,power_W\nA,x,1'),
      'runs.csv:1:8: a column without a name; name it or delete the column',
    ],
  ],
  cells: [
    [
      'decimal comma',
      runs('cooler,fan_rpm,power_W,source_C,ambient_C\nA,900,1,61,22\nBeech 9,900,  "182,5",61,22'),
      'runs.csv:3:15: "182,5" looks like a decimal comma; write 182.5 with a point',
    ],
    [
      'thousands',
      runs(`${header}A,"1,200",1,61,22`),
      'runs.csv:2:3: "1,200" looks like a decimal comma; write 1.200 with a point, or 1200 if the comma groups thousands',
    ],
    [
      'NaN',
      runs(`${header}A,NaN,1,61,22`),
      'runs.csv:2:3: "NaN" is not a number; power_W needs one (delete the row if there was no reading)',
    ],
    [
      'Infinity',
      runs(`${header}A,1,1,Infinity,22`),
      'runs.csv:2:7: "Infinity" is not a number; source_C needs one (delete the row if there was no reading)',
    ],
    [
      'too large',
      runs(`${header}A,1e999,1,61,22`),
      'runs.csv:2:3: "1e999" is too large a number for power_W',
    ],
    [
      'too large in watts',
      runs('cooler,power_kW,fan_rpm,source_C,ambient_C\nA,1e308,900,61,22\n'),
      'runs.csv:2:3: "1e308" is too large a number for power_kW',
    ],
    [
      'too large for a heater',
      runs(`${header}A,2e6,900,61,22\n`),
      'runs.csv:2:3: power_W is 2e6; at most 1000000 is accepted',
    ],
    [
      'endless name',
      runs(`source,${header}${'x'.repeat(201)},A,150,900,61,22\n`),
      `runs.csv:2:1: "${'x'.repeat(39)}…" is too long; source holds at most 200 characters`,
    ],
    [
      'unit in the cell',
      runs(`${header}A,150 W,1,61,22`),
      'runs.csv:2:3: "150 W" is a number with something after it; write the number alone, the unit is in the name power_W',
    ],
    [
      'text',
      runs(`${header}A,full,1,61,22`),
      'runs.csv:2:3: "full" is not a number; power_W needs one, such as 182.5',
    ],
    [
      'hexadecimal',
      runs(`${header}A,0x10,1,61,22`),
      'runs.csv:2:3: "0x10" is not a number; power_W needs one, such as 182.5',
    ],
    [
      'empty number',
      runs(`${header}A,,1,61,22`),
      'runs.csv:2:3: power_W is empty; every row needs a number here',
    ],
    ['empty name', runs(`${header} ,1,1,61,22`), 'runs.csv:2:2: cooler is empty; every row needs one'],
    ['negative power', runs(`${header}A,-5,1,61,22`), 'runs.csv:2:3: power_W is -5; it must not be negative'],
    ['negative speed', runs(`${header}A,5,-1,61,22`), 'runs.csv:2:5: fan_rpm is -1; it must not be negative'],
    [
      'below absolute zero',
      runs('cooler,power_W,fan_rpm,source_K,ambient_C\nA,1,1,-1,22'),
      'runs.csv:2:7: source_K is -1, which is below absolute zero; a temperature of at least 0 is accepted',
    ],
    ['too hot', runs(`${header}A,5,1,6100,22`), 'runs.csv:2:7: source_C is 6100; at most 1000 is accepted'],
    [
      'below ambient',
      runs(`${header}A,5,1,22,61`),
      'runs.csv:2:7: the source is 39 K below ambient (22 and 61 °C), more than the 1.8 K that the sensors can be wrong by; check whether the two columns are swapped',
    ],
    [
      'line after a cell of two lines',
      runs('cooler,note,power_W,fan_rpm,source_C,ambient_C\nA,"a\r\nb",x,1,1,1'),
      'runs.csv:3:4: "x" is not a number; power_W needs one, such as 182.5',
    ],
    [
      'column in characters',
      runs(`${header}"🌲é",x,1,1,1`),
      'runs.csv:2:6: "x" is not a number; power_W needs one, such as 182.5',
    ],
    [
      'run twice',
      runs(`run,${header}r,A,5,1,23,22\nr,A,5,1,23,22`),
      'runs.csv:3:1: run "r" is already in line 2; every run needs its own id',
    ],
    [
      'line break in a name',
      runs(`${header}"A\nB",1,1,61,22`),
      'runs.csv:2:1: "A·B" holds a line break or an invisible character; write cooler without it',
    ],
    [
      'date',
      runs(`started,${header}2024-02-30,A,5,1,23,22`),
      'runs.csv:2:1: "2024-02-30" is not a date and time; write it as 2024-05-31 or 2024-05-31T14:05 (ISO 8601)',
    ],
    [
      'duty',
      runs(`fan_duty_percent,${header}101,A,5,1,23,22`),
      'runs.csv:2:1: fan_duty_percent is 101; at most 100 is accepted',
    ],
  ],
  'bench.yaml': [
    [
      'open bracket',
      yaml('name: [a\n'),
      'bench.yaml:2:1: wrong indentation, or a bracket that is not closed; keys of one group begin in the same column',
    ],
    ['key twice', yaml('name: a\nname: b'), 'bench.yaml:2:1: this key is there already; keep one of the two'],
    [
      'alias',
      yaml('methods: &x [a]\nsessions: *x'),
      'bench.yaml:1:13: anchors (&) and aliases (*) are not read; write the value out',
    ],
    [
      'tag',
      yaml('heater: !run {}'),
      'bench.yaml:1:9: a tag (!) that is not read; leave it out, or put the text in quotes',
    ],
    [
      'two documents',
      yaml('name: a\n---\nname: b'),
      'bench.yaml:2:1: a second document ("---"); keep one document in the file',
    ],
    [
      'tab',
      yaml('heater:\n\tpower_max_W: 4'),
      'bench.yaml:2:1: a tab in the indentation; indent with spaces',
    ],
    ['a list', yaml('- a'), 'bench.yaml:1:1: the file must hold keys and values, such as "name: my bench"'],
    [
      'no mapping',
      yaml('heater: 5'),
      'bench.yaml:1:9: heater must hold keys of its own, such as power_max_W',
    ],
    [
      'no unit',
      yaml('heater:\n  power_max: 400'),
      'bench.yaml:2:3: power_max has no unit; write power_max_W, power_max_mW, power_max_kW, power_max_MW or power_max_hp',
    ],
    [
      'K of a limit',
      yaml('heater: {temperature_limit_K: 363}'),
      'bench.yaml:1:10: temperature_limit_K: "K" is not a known unit of temperature limit (K would be a difference); accepted: temperature_limit_C, temperature_limit_F, temperature_limit_degC or temperature_limit_degF (did you mean "temperature_limit_C"?)',
    ],
    [
      'decimal comma',
      yaml('heater:\n  power_max_W: 0,5'),
      'bench.yaml:2:16: "0,5" looks like a decimal comma; write 0.5 with a point',
    ],
    [
      'a decimal comma between brackets',
      yaml('instruments:\n  source_temperature: {systematic_K: 0,5}'),
      'bench.yaml:2:40: 5 stands alone behind a comma; is it the decimals of the number before? write it with a point, such as 0.5',
    ],
    [
      'a decimal comma in a leak',
      yaml('heater: {leak_W_per_K: {value: 0,05, uncertainty: 0.01}}'),
      'bench.yaml:1:34: 05 stands alone behind a comma; is it the decimals of the number before? write it with a point, such as 0.05',
    ],
    ['not positive', yaml('heater: {power_max_W: 0}'), 'bench.yaml:1:23: power_max_W must be greater than 0'],
    [
      'negative uncertainty',
      yaml('instruments:\n  source_temperature:\n    systematic_K: -0.5'),
      'bench.yaml:3:19: systematic_K must not be negative',
    ],
    [
      'not finite',
      yaml('instruments:\n  power: {systematic_percent: .inf}'),
      'bench.yaml:2:31: ".inf" is not a number; systematic_percent needs one, such as 182.5',
    ],
    [
      'negative leak',
      yaml('heater:\n  leak_W_per_K: -1'),
      'bench.yaml:2:17: leak_W_per_K must not be negative',
    ],
    [
      'negative leak uncertainty',
      yaml('heater:\n  leak_W_per_K: {value: 1, uncertainty: -1}'),
      'bench.yaml:2:41: uncertainty of leak_W_per_K must not be negative',
    ],
    [
      'other key of a leak',
      yaml('heater:\n  leak_W_per_K: {val: 1}'),
      'bench.yaml:2:18: leak_W_per_K holds "val"; it is a number, or {value: …, uncertainty: …}',
    ],
    ['chip without a name', yaml('chips:\n  - temperature_limit_C: 90'), 'bench.yaml:2:5: chip needs a name'],
    [
      'chip twice',
      yaml('chips:\n  - chip: a\n  - chip: a'),
      'bench.yaml:3:11: chip is there already; each chip is listed once',
    ],
    [
      'chip called heater',
      yaml('chips:\n  - chip: heater'),
      'bench.yaml:2:11: chip must not be "heater", which is the name of the dummy heater',
    ],
    [
      'chips no list',
      yaml('chips: {chip: a}'),
      'bench.yaml:1:8: chips must be a list, each item on its own line after "- "',
    ],
    [
      'sessions no list',
      yaml('sessions: 5'),
      'bench.yaml:1:11: sessions must be a list, each item on its own line after "- "',
    ],
    [
      'one quantity twice',
      yaml('ambient: {setpoint_K: 295, setpoint_C: 22}'),
      'bench.yaml:1:28: setpoint_C and setpoint_K are the same quantity; keep one of the two',
    ],
    [
      'an altitude that no room has',
      yaml('altitude_m: 12000'),
      'bench.yaml:1:13: altitude_m must be at most 9000 m',
    ],
    [
      'unknown reference cooler',
      yaml('reference_cooler: B'),
      'bench.yaml:1:19: reference_cooler "B" is not a cooler of the bench; accepted are A',
    ],
  ],
  'other files': [
    [
      'noise of an unknown cooler',
      beside('noise.csv', 'cooler,fan_rpm,sound_dBA\nBirch,900,30'),
      'noise.csv:2:1: cooler "Birch" has neither a run, a log nor a row in coolers.csv; accepted: A',
    ],
    [
      'kind',
      beside('coolers.csv', 'cooler,kind\nA,water'),
      'coolers.csv:2:3: "water" is not a kind of cooler; write air or liquid',
    ],
    [
      'speeds swapped',
      beside('coolers.csv', 'cooler,fan_max_rpm,fan_min_rpm\nA,900,1000'),
      'coolers.csv:2:7: fan_min_rpm is 1000, above fan_max_rpm of 900; check whether the two are swapped',
    ],
    [
      'half a fan',
      beside('coolers.csv', 'cooler,fans\nA,1.5'),
      'coolers.csv:2:3: fans is 1.5; a whole number is accepted',
    ],
    [
      'cooler twice',
      beside('coolers.csv', 'cooler\nA\nA'),
      'coolers.csv:3:1: cooler "A" is already in line 2; every cooler has one row',
    ],
    [
      'no thickness',
      beside('coolers.csv', 'cooler,base_thickness_mm\nA,0'),
      'coolers.csv:2:3: base_thickness_mm is 0; it must be greater than 0',
    ],
    [
      'flatness of an unknown cooler',
      beside('flatness/Birch-1.csv', ''),
      'flatness/Birch-1.csv:1:1: the file name does not begin with a cooler of the bench; name it <cooler>-<sample>.csv with a cooler of runs.csv, logs.csv or coolers.csv',
    ],
    [
      'two points',
      beside('flatness/A-1.csv', 'x_mm,y_mm,depth_um\n0,0,1\n1,0,1\n'),
      'flatness/A-1.csv:1:1: a surface needs at least 3 points; the file has 2 points',
    ],
    [
      'log absent',
      logs('run,cooler,log\na,A,ones.csv'),
      'logs.csv:2:5: there is no file "logs/ones.csv" (did you mean "one.csv"?)',
    ],
    [
      'log outside',
      logs('run,cooler,log\na,A,../one.csv'),
      'logs.csv:2:5: "../one.csv" points outside the folder logs; write the name of a file in it, such as run-1.csv',
    ],
    [
      'log absolute',
      logs('run,cooler,log\na,A,/one.csv'),
      'logs.csv:2:5: "/one.csv" points outside the folder logs; write the name of a file in it, such as run-1.csv',
    ],
    [
      'log used twice',
      logs('run,cooler,log\na,A,one.csv\nb,A,logs/one.csv'),
      'logs.csv:3:5: log "one.csv" is already used in line 2; each log has one row',
    ],
    [
      'no column log',
      logs('run,cooler\na,A'),
      'logs.csv:1:1: missing column log; the header has "run", "cooler"',
    ],
  ],
};

for (const [group, cases] of Object.entries(faults)) {
  describe(`faults: ${group}`, () => {
    for (const [name, files, expected] of cases) test(name, () => expect(message(files)).toBe(expected));
  });
}

describe('faults whose wording the YAML library shares', () => {
  test('nesting too deep is a fault of the file, not of the program', () => {
    expect(message(yaml('['.repeat(50_000)))).toMatch(/^bench\.yaml:1:\d+: nested too deeply/);
  });
});

describe('warnings', () => {
  const warnings = (files: Record<string, string>) => read(files).warnings;
  const noMount =
    'runs.csv:1:1: 1 of 1 run has no mount; their mount scatter is assumed, not measured. Add a column mount that tells one fitting from the next';

  test('no mount: told once, at the first cell that lacks it', () => {
    expect(warnings(runs(healthy))).toEqual([noMount]);
    expect(warnings(runs(`mount,${header}1,A,5,1,23,22\n,A,5,1,23,22\n,A,6,1,23,22`))).toEqual([
      'runs.csv:3:1: 2 of 3 runs have no mount; their mount scatter is assumed, not measured. Add a column mount that tells one fitting from the next',
    ]);
  });

  test('nothing of an altitude, which is read', () => {
    const bench = read(yaml('altitude_m: 800'));
    expect(bench.altitude_m).toBe(800);
    expect(bench.warnings.join()).not.toContain('altitude_m');
    expect(read(yaml('altitude_ft: 1000')).altitude_m).toBeCloseTo(304.8, 10);
  });

  test('unknown keys, with the key that was perhaps meant', () => {
    expect(warnings(yaml('heatr: {power_max_W: 3}')).slice(0, 1)).toEqual([
      'bench.yaml:1:1: "heatr" is not a key that is read (did you mean "heater"?); it is kept as it is',
    ]);
  });

  test('beyond the heater, beyond the fan, mistyped coolers and sources, logs without an index, Hz', () => {
    expect(warnings(yaml('heater: {power_max_W: 100}'))).toEqual([
      "runs.csv:2:3: 150 W is more than the heater's power_max_W of 100",
      noMount,
    ]);
    expect(warnings(beside('coolers.csv', 'cooler,kind,fan_max_rpm\nA,air,850'))[1]).toBe(
      'runs.csv:2:1: "A" turns at 900 rpm, more than 5 % above its fan_max_rpm of 850 in coolers.csv',
    );
    expect(warnings(beside('coolers.csv', 'cooler,kind,fan_max_rpm\nA,air,860'))).toEqual([noMount]);
    expect(warnings(beside('coolers.csv', 'cooler,fan_max_rpm\nA,860'))[1]).toBe(
      'coolers.csv:2:1: no kind for "A": taken as air; write air or liquid under kind',
    );
    expect(warnings(beside('coolers.csv', 'cooler,kind\nHeron,air'))[1]).toBe(
      'coolers.csv:1:1: no row for "A": taken as air cooled, pipes and speed range not known',
    );
    expect(warnings(beside('coolers.csv', 'cooler,kind\na,air'))[1]).toBe(
      'runs.csv:2:1: cooler "A" has no row in coolers.csv, where "a" has no run; are they the same?',
    );
    expect(warnings(runs(`source,${header}Heater,A,150,900,61,22`))[1]).toBe(
      'runs.csv:2:1: source "Heater" is taken as a chip with the default uncertainties (did you mean "heater"?)',
    );
    expect(warnings(beside('logs/one.csv', ''))[1]).toBe(
      'logs.csv:1:1: 1 file in logs but no index logs.csv; the logs are not read',
    );
    expect(
      warnings({
        ...beside('logs.csv', 'run,cooler,log\nl,A,one.csv'),
        'logs/one.csv': '',
        'logs/two.csv': '',
      })[1],
    ).toBe('logs/two.csv:1:1: the file is not in logs.csv and is not read; add a row for it');
    expect(warnings(runs(healthy.replace('fan_rpm', 'fan_Hz')))[0]).toBe(
      'runs.csv:1:16: fan_Hz is read as revolutions per second; a tachometer signal has two pulses for each',
    );
  });
});

describe('what is odd but legal', () => {
  test('a zero-load run may read below ambient by the error of its sensors', () => {
    expect(read(runs(`${header}A,0,900,20.3,22`)).runs[0].source_C).toBe(20.3);
    expect(message(runs(`${header}A,0,900,20.1,22`))).toMatch(/more than the 1\.8 K/);
  });

  test('names of the language are only names', () => {
    const bench = read({
      'bench.yaml':
        '__proto__: {polluted: 1}\nconstructor: 2\nchips:\n  - chip: __proto__\n    constructor: 3\n',
      'runs.csv': `constructor,${header}x,__proto__,150,900,61,22\ny,toString,150,900,61,22`,
      'coolers.csv': 'cooler,__proto__\n__proto__,z\nhasOwnProperty,z\n',
    });
    expect(bench.coolers.map((cooler) => cooler.cooler)).toEqual(['__proto__', 'toString', 'hasOwnProperty']);
    expect(bench.runs[0].extra.constructor).toBe('x');
    expect(Object.entries(bench.coolers[0].extra)).toEqual([['__proto__', 'z']]);
    expect(({} as { polluted?: number }).polluted).toBeUndefined();
  });

  test('columns beside a known quantity are carried, text columns too', () => {
    const bench = read(runs(`fan_model,pump_model,power_kW2,${header}slim,D,7,A,150,900,61,22`));
    expect({ ...bench.runs[0].extra }).toEqual({ fan_model: 'slim', pump_model: 'D', power_kW2: '7' });
  });

  test('ids by line never meet ids of the file', () => {
    const bench = read(runs(`run,${header}run-3,A,5,1,23,22\n,A,5,1,23,22`));
    expect(bench.runs.map((run) => run.run)).toEqual(['run-3', 'run-3-2']);
  });

  test('a passive cooler', () => {
    expect(read(runs(`${header}A,15,0,61,22`)).coolers[0].fan_max_rpm).toBe(0);
  });

  test('line ends of CR alone, blank lines, trailing empty columns', () => {
    const bench = read(
      runs('cooler , power_W,fan_rpm,source_C,ambient_C,,\r\rA, 150 ,900,61,22,,\r,,,,,,\r'),
    );
    expect(bench.runs).toMatchObject([{ cooler: 'A', power_W: 150, line: 3 }]);
  });
});
