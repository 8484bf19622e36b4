import { describe, expect, it } from 'vitest';
import type { Run } from './bench.ts';
import { BenchError } from './bench-error.ts';
import { sayByOption } from './headings.ts';
import { importTable } from './import-table.ts';
import { readBench } from './read-bench.ts';

const bytes = (text: string) => new TextEncoder().encode(text);
const imported = (text: string | Uint8Array, columns?: Record<string, string>) => {
  const made = importTable('table.csv', typeof text === 'string' ? bytes(text) : text, {
    columns,
    saying: sayByOption,
  });
  return { ...made, bench: readBench(made.files) };
};

/** What every table below says: two coolers, two mounts of one of them. */
const runs: Partial<Run>[] = [
  { cooler: 'Plover', mount: '1', power_W: 90, fan_rpm: 1500, source_C: 41.5, ambient_C: 21.9 },
  { cooler: 'Plover', mount: '1', power_W: 160, fan_rpm: 1500, source_C: 56.25, ambient_C: 22 },
  { cooler: 'Plover', mount: '2', power_W: 160, fan_rpm: 1500, source_C: 56.75, ambient_C: 22.1 },
  { cooler: 'Dunlin', mount: '1', power_W: 160, fan_rpm: 1800, source_C: 58.5, ambient_C: 22 },
];

const tables: Record<string, string | Uint8Array> = {
  'names of the bench': `cooler,mount,power_W,fan_rpm,source_C,ambient_C
Plover,1,90,1500,41.5,21.9
Plover,1,160,1500,56.25,22
Plover,2,160,1500,56.75,22.1
Dunlin,1,160,1800,58.5,22
`,
  'English headings with units in brackets': `Cooler,Mount #,Load (W),Fan speed (RPM),CPU temp (°C),Room temp (°C),Comments
Plover,1.0,90,1500,41.5,21.9,
Plover,1.0,160,1500,56.25,22,
Plover,2.0,160,1500,56.75,22.1,"after lunch, window shut"
Dunlin,1.0,160,1800,58.5,22,
`,
  'degrees Fahrenheit and kilowatts': `Heatsink;Fitting;Heat load [kW];Fan RPM;Heater temperature [°F];Ambient [°F]
Plover;1;0.09;1500;106.7;71.42
Plover;1;0.16;1500;133.25;71.6
Plover;2;0.16;1500;134.15;71.78
Dunlin;1;0.16;1800;137.3;71.6
`,
  'German: semicolons, decimal commas, in Windows-1252': Uint8Array.from(
    `K\xfchler;Montage Nr.;Leistung [W];Drehzahl [U/min];Blocktemperatur [\xb0C];Raumtemperatur [\xb0C]
Plover;1;90,0;1500;41,5;21,9
Plover;1;160,0;1500;56,25;22,0
Plover;2;160,0;1500;56,75;22,1
Dunlin;1;160,0;1800;58,5;22,0
`,
    (character) => character.charCodeAt(0),
  ),
  'French: tabs from the clipboard': `Refroidisseur\tMontage\tPuissance (W)\tVitesse (tr/min)\tTempérature CPU (°C)\tTempérature ambiante (°C)
Plover\t1\t90\t1500\t41,5\t21,9
Plover\t1\t160\t1500\t56,25\t22,0
Plover\t2\t160\t1500\t56,75\t22,1
Dunlin\t1\t160\t1800\t58,5\t22,0
`,
  'notes above the header': `Cooler round-up,,,,,
Tested in the back room with the same paste,,,,,
,,,,,
Cooler,Mount,Power (W),RPM,Source (°C),Ambient (°C)
Plover,1,90,1500,41.5,21.9
Plover,1,160,1500,56.25,22
Plover,2,160,1500,56.75,22.1
Dunlin,1,160,1800,58.5,22
`,
  'merged cells, blank below the first': `Cooler;Mount;Power (W);RPM;Source (°C);Ambient (°C)
Plover;1;90;1500;41,5;21,9
;;160;;56,25;22,0
;2;;;56,75;22,1
Dunlin;1;160;1800;58,5;22,0
`,
  'a cooler as a heading over its rows': `Cooler,Mount,Power (W),RPM,Source (°C),Ambient (°C)
Plover,,,,,
,1,90,1500,41.5,21.9
,1,160,1500,56.25,22
,2,160,1500,56.75,22.1
Dunlin,,,,,
,1,160,1800,58.5,22
`,
  'a row of averages, a footnote and the header once more': `Cooler,Mount,Power (W),RPM,Source (°C),Ambient (°C)
Plover,1,90,1500,41.5,21.9
Plover,1,160,1500,56.25,22
Cooler,Mount,Power (W),RPM,Source (°C),Ambient (°C)
Plover,2,160,1500,56.75,22.1
Dunlin,1,160,1800,58.5,22
Average,,142.5,1575,53.25,22
* fan curve switched off,,,,,
`,
  'a row of units below the header': `Cooler;Mount;Power;Fan;Source;Ambient
;;W;rpm;°C;°C
Plover;1;90;1500;41,5;21,9
Plover;1;160;1500;56,25;22,0
Plover;2;160;1500;56,75;22,1
Dunlin;1;160;1800;58,5;22,0
`,
  'dates with the month first, a column of differences': `Date,Cooler,Mount,Power (W),RPM,Source (°C),Ambient (°C),Delta T
5/30/2024,Plover,1,90,1500,41.5,21.9,19.6
5/31/2024,Plover,1,160,1500,56.25,22,34.25
6/1/2024,Plover,2,160,1500,56.75,22.1,34.65
6/1/2024,Dunlin,1,160,1800,58.5,22,36.5
`,
  'UTF-16 with tabs, every cell in quotes, dates with points': Uint8Array.from([
    0xff,
    0xfe,
    ...`"Datum"\t"Kühler"\t"Montage"\t"Last (W)"\t"Lüfter (1/min)"\t"Heizer (°C)"\t"Raum (°C)"
"30.05.2024"\t"Plover"\t"1"\t"90"\t"1500"\t"41,5"\t"21,9"
"31.05.2024"\t"Plover"\t"1"\t"160"\t"1500"\t"56,25"\t"22,0"
"01.06.2024"\t"Plover"\t"2"\t"160"\t"1500"\t"56,75"\t"22,1"
"01.06.2024"\t"Dunlin"\t"1"\t"160"\t"1800"\t"58,5"\t"22,0"
`
      .split('')
      .flatMap((character) => [character.charCodeAt(0) & 255, character.charCodeAt(0) >> 8]),
  ]),
};

describe('a table as people keep it becomes a bench without editing', () => {
  it.each(Object.entries(tables))('%s', (_, text) => {
    const { bench } = imported(text);
    expect(bench.runs.length).toBe(runs.length);
    bench.runs.forEach((run, k) => {
      const { power_W, source_C, ambient_C, ...rest } = runs[k] as Run;
      expect(run).toMatchObject({
        ...rest,
        power_W: expect.closeTo(power_W, 9),
        source_C: expect.closeTo(source_C, 9),
        ambient_C: expect.closeTo(ambient_C, 9),
      });
    });
    expect(bench.warnings).toEqual([]);
  });

  it('dates become ISO 8601, further columns are carried along', () => {
    const american = imported(tables['dates with the month first, a column of differences']).bench;
    expect(american.runs.map((run) => run.started)).toEqual([
      '2024-05-30',
      '2024-05-31',
      '2024-06-01',
      '2024-06-01',
    ]);
    expect(american.runs[0].extra['Delta T']).toBe('19.6');
  });

  it('says how each column was read, what was filled and what was left out', () => {
    const made = imported(tables['a row of averages, a footnote and the header once more']);
    expect(made.columns).toContainEqual({ heading: 'RPM', name: 'fan_rpm' });
    expect(made.understood).toEqual([
      'line 4 left out: repeats the header',
      'line 7 left out: is a summary',
      'line 8 left out: is a note',
    ]);
    expect(imported(tables['merged cells, blank below the first']).understood).toContain(
      '2 blank cells of "Cooler" filled from above',
    );
    expect(imported(tables['notes above the header']).understood).toContain(
      '2 lines above the header left out',
    );
    expect(imported(tables['degrees Fahrenheit and kilowatts']).columns[2].name).toBe('power_W, converted');
  });

  it('explains every key in a bench.yaml that gives the defaults, chips of the table included', () => {
    const header = 'Cooler,Source,Power (W),RPM,Source temp (°C),Ambient (°C),Mount';
    const text = `${header}\nPlover,heater,90,1500,41.5,19.9,1\nPlover,Kestrel,90,1500,52,20.1,2\n`;
    const { bench, files } = imported(text);
    expect(bench.chips.map((chip) => chip.chip)).toEqual(['Kestrel']);
    expect(bench.ambient).toEqual({ setpoint_C: 20, tolerance_K: 1 });
    const yaml = new TextDecoder().decode(files.get('bench.yaml'));
    const keys = yaml.split('\n').filter((line) => /^ *[a-z_A-Z]+:/.test(line) && !/:\s*$/.test(line));
    for (const key of keys) {
      const before = yaml.slice(0, yaml.indexOf(key)).trimEnd().split('\n').at(-1);
      expect(before ?? '', key).toMatch(/^\s*#|resolution_K/);
    }
  });
});

const header = 'Cooler,Mount,Power (W),RPM,Source (°C),Ambient (°C)';
const row = 'Plover,1,90,1500,41.5,21.9';
const refused: [string, string | Uint8Array, RegExp][] = [
  [
    'one temperature that may be either',
    `Cooler,Power (W),RPM,Temp (°C),Ambient (°C)\nPlover,90,1500,41.5,21.9\n`,
    /^table\.csv:1:22: column "Temp \(°C\)" may be source_C or ambient_C; .*--columns "Temp \(°C\)=source_C"/,
  ],
  [
    'a load without a unit',
    header.replace('Power (W)', 'Power').concat(`\n${row}\n`),
    /"Power" has no unit.*power_W, power_mW, power_kW/,
  ],
  [
    'a thousands sign',
    `${header}\n${row.replace('1500', '1.500')}\n`,
    /:2:13: "1\.500" may be 1500 .* or 1\.5/,
  ],
  [
    'a thousands sign beside decimal commas',
    `${header}\n${row}\n`.replaceAll(',', ';').replaceAll('.', ',').replace('1500', '1.500'),
    /"1\.500" may be 1500 with a point between thousands, or 1,500 with a decimal point/,
  ],
  [
    'a date that may have its day or its month first',
    `Date,${header}\n03/04/2024,${row}\n`,
    /:2:1: "03\/04\/2024" may have its day or its month first/,
  ],
  [
    'two temperatures of the source',
    `Cooler,Power (W),RPM,CPU temp (°C),Block temp (°C),Ambient (°C)\nPlover,90,1500,41.5,41,21.9\n`,
    /"CPU temp \(°C\)" and "Block temp \(°C\)" may both be source_C/,
  ],
  [
    'no temperature of the room',
    'Cooler,Power (W),RPM,Source (°C)\nPlover,90,1500,41.5\n',
    /missing column ambient_C/,
  ],
  [
    'a level that may not be A-weighted',
    `${header},Noise (dB)\n${row},38\n`,
    /"Noise \(dB\)" has no unit that is read; write sound_dBA/,
  ],
  ['a name that is nearly known', `${header},sesion\n${row},a\n`, /"sesion" is nearly session/],
  ["a spreadsheet's own file", Uint8Array.of(0x50, 0x4b, 3, 4, 0, 0), /save the sheet as CSV \(UTF-8\)/],
  ['a source that is a number without a unit', `${header},Heat source\n${row},41\n`, /"Heat source"/],
  ['nothing but notes', 'Cooler round-up\nin the back room\n', /missing columns/],
];

describe('what cannot be told is refused with the choice', () => {
  it.each(refused)('%s', (_, text, what) => {
    const make = () => imported(text);
    expect(make).toThrow(BenchError);
    expect(make).toThrow(what);
  });

  it('until it is said', () => {
    const text = `Cooler,Mount,Power,RPM,Temp,Temp 2\n${row}\n`;
    const columns = { Power: 'power_W', Temp: 'source_C', 'Temp 2': 'ambient_C' };
    expect(imported(text, columns).bench.runs[0]).toMatchObject(runs[0]);
  });
});

describe('a table of rises', () => {
  const rows = (text: string, ambient_C?: number) => {
    const made = importTable('table.csv', bytes(text), { saying: sayByOption, ambient_C });
    return { ...made, bench: readBench(made.files) };
  };

  it('has its source over the stated room', () => {
    const text = 'Cooler;Load (W);RPM;Delta T (°C)\nPlover;90;1500;19,6\nPlover;160;1500;34,25\nTotal;;;\n';
    const { bench, understood } = rows(text, 22);
    expect(bench.runs.map((run) => [run.source_C, run.ambient_C])).toEqual([
      [41.6, 22],
      [56.25, 22],
    ]);
    expect(understood).toContain('source temperature is the rise over a room at 22 °C, as stated');
    expect(() => rows(text)).toThrow(
      /^table\.csv:1:21: the table holds rises and no temperature; .*--ambient 22/,
    );
  });

  it('gives the temperature that is lacking', () => {
    const head = 'Cooler,Load (W),RPM,ΔT (K)';
    expect(rows(`${head},Room (°C)\nPlover,90,1500,19.6,21.9\n`).bench.runs[0].source_C).toBe(41.5);
    expect(rows(`${head},CPU temp (°C)\nPlover,90,1500,19.6,41.5\n`).bench.runs[0].ambient_C).toBe(21.9);
  });
});
