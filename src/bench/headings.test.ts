import { describe, expect, it } from 'vitest';
import { cellFormat } from './cell-format.ts';
import { coolersPlan } from './coolers-table.ts';
import { dateOrder, isoDate } from './dates.ts';
import { type Headable, readHeadings } from './headings.ts';
import { readBench } from './read-bench.ts';
import { runsPlan } from './runs-table.ts';

const read = (
  headings: string[],
  { plan = runsPlan as Headable, columns = {}, text = [] as string[] } = {},
) =>
  readHeadings(headings, plan, {
    columns,
    numeric: (index) => !text.includes(headings[index]),
    refuse: (index, what) => new Error(`${index}: ${what}`),
  });
const one = (heading: string, text = false) => read([heading], { text: text ? [heading] : [] }).names[0];

describe('a heading as people write it', () => {
  it.each([
    ['Power (W)', 'power_W'],
    ['Heat load [W]', 'power_W'],
    ['Load, W', 'power_W'],
    ['Leistung / kW', 'power_kW'],
    ['Puissance (W)', 'power_W'],
    ['Watts', 'power_W'],
    ['Power (hp)', 'power_hp'],
    ['POWER_W', 'power_W'],
    ['RPM', 'fan_rpm'],
    ['Fan RPM', 'fan_rpm'],
    ['Fan speed (1/min)', 'fan_rpm'],
    ['Drehzahl [U/min]', 'fan_rpm'],
    ['Vitesse ventilateur (tr/min)', 'fan_rpm'],
    ['Fan (%)', 'fan_duty_percent'],
    ['Pump rpm', 'pump_rpm'],
    ['CPU temp (°F)', 'source_F'],
    ['Heater temperature in °C', 'source_C'],
    ['T_source (C)', 'source_C'],
    ['Room (°C)', 'ambient_C'],
    ['Raumtemperatur [°C]', 'ambient_C'],
    ['Température ambiante (°C)', 'ambient_C'],
    ['Noise dB(A)', 'sound_dBA'],
    ['Bruit (dBA)', 'sound_dBA'],
    ['Liquid temp (°C)', 'coolant_C'],
    ['Air pressure (mbar)', 'pressure_mbar'],
  ])('%s', (heading, name) => expect(one(heading)).toBe(name));

  it.each([
    ['Mount #', 'mount'],
    ['Mount no.', 'mount'],
    ['Kühler', 'cooler'],
    ['Cooler name', 'cooler'],
    ['Session ID', 'session'],
    ['Comments', 'note'],
    ['Source', 'source'],
    ['Heat source', 'source'],
    ['Wärmeleitpaste', 'paste'],
  ])('%s', (heading, name) => expect(one(heading, true)).toBe(name));

  it.each([
    ['Temp (°C)', 'may be source_C or ambient_C'],
    ['Power', 'has no unit that is read; write power_W, power_mW'],
    ['Source', 'has no unit that is read; write source_C, source_F'],
    ['Noise (dB)', 'has no unit that is read; write sound_dBA'],
    ['CPU temp', 'has no unit that is read; write source_C'],
    ['sesion', 'is nearly session'],
    ['Mont', 'is nearly mount'],
    ['soruce_C', 'is nearly source_C'],
  ])('%s is refused with the choice', (heading, what) => expect(() => one(heading)).toThrow(what));

  it('that means something of its own is carried along', () => {
    for (const heading of ['humidity', 'serial', 'paste_batch', 'source_serial', 'Delta T (K)', 'Case'])
      expect(one(heading, true)).toBeUndefined();
    expect(read(['fins', 'Heat pipes', 'Pipe diameter (mm)', 'Type'], { plan: coolersPlan }).names).toEqual([
      undefined,
      'heat_pipes',
      'heat_pipe_diameter_mm',
      'kind',
    ]);
  });

  it('gives way to a name of the bench, and to columns of bench.yaml', () => {
    expect(read(['source_C', 'CPU temp (°C)']).understood).toEqual([
      '"CPU temp (°C)" unread beside source_C',
    ]);
    expect(() => read(['CPU temp (°C)', 'Block temp (°C)'])).toThrow('may both be source_C');
    const columns = { 'Block temp (°C)': '', Temp: 'ambient_F' };
    expect(read(['CPU temp (°C)', 'Block temp (°C)', 'Temp'], { columns }).names).toEqual([
      'source_C',
      undefined,
      'ambient_F',
    ]);
  });
});

describe('separators and decimal signs', () => {
  it.each([
    [['a,b', '1,2'], ',', '.'],
    [['a;b', '1,5;2'], ';', ','],
    [['a;b', '1.5;2'], ';', '.'],
    [['a;b', '1,800;2'], ';', '.'],
    [['a\tb', '1,5\t2'], '\t', ','],
    [['a;b, c;d', 'x;1,25;3', 'x;1,75;3'], ';', ','],
    [['a,b,note', '1,2,x; y; z'], ',', '.'],
    [['one'], ',', '.'],
  ])('%j', (lines, separator, decimal) => expect(cellFormat(lines)).toEqual({ separator, decimal }));
});

describe('a bench with a table as a spreadsheet saves it', () => {
  const bench = (runs: string, yaml = '') =>
    readBench(
      new Map([
        ['bench.yaml', new TextEncoder().encode(yaml)],
        ['runs.csv', new TextEncoder().encode(runs)],
      ]),
    );
  const header = 'Kühler;Montage Nr.;Leistung [W];Drehzahl [U/min];Blocktemperatur [°C];Raumtemperatur [°C]';

  it('semicolons, decimal commas, headings of its own; said once', () => {
    const { runs, warnings } = bench(`${header};Datum\nSteinwälzer;1.0;150,5;1200;61,25;22,5;31.05.2024\n`);
    expect(runs[0]).toMatchObject({
      cooler: 'Steinwälzer',
      mount: '1',
      power_W: 150.5,
      fan_rpm: 1200,
      source_C: 61.25,
      ambient_C: 22.5,
      started: '2024-05-31',
    });
    expect(warnings).toEqual([
      'runs.csv:1:1: cells between semicolons, decimal commas; read "Kühler" as cooler, "Montage Nr." as mount, "Leistung [W]" as power_W, "Drehzahl [U/min]" as fan_rpm, "Blocktemperatur [°C]" as source_C, "Raumtemperatur [°C]" as ambient_C and "Datum" as started',
    ]);
  });

  it('a mount 1.0 and a mount 1 are one', () => {
    const text =
      'cooler,mount,power_W,fan_rpm,source_C,ambient_C\nA,1.0,150,1200,61,22\nA,1,100,1200,48,22\n';
    expect(bench(text).runs.map((run) => run.mount)).toEqual(['1', '1']);
  });

  it('"Source" with names tells chips from the heater, with an ambiguous sign it is refused', () => {
    const text = 'cooler,Source,Mount #,power_W,fan_rpm,source_C,ambient_C\nA,Kestrel,1,150,1200,61,22\n';
    expect(bench(text).runs[0]).toMatchObject({ source: 'Kestrel', mount: '1' });
  });

  it('thousands are refused with both readings', () => {
    const of = (fan: string) => () => bench(`${header}\nA;1;150,5;${fan};61,2;22\n`);
    expect(of('1.800')).toThrow(
      '"1.800" may be 1800 with a point between thousands, or 1,800 with a decimal',
    );
    expect(of('1,800')).toThrow('"1,800" may be 1800 with a sign between thousands, or 1.8');
    const point = 'cooler,power_W,fan_rpm,source_C,ambient_C\nA,150,1.800,61,22\n';
    expect(() => bench(point)).toThrow('"1.800" may be 1800');
  });

  it('columns of bench.yaml settle what a heading is, and are checked', () => {
    const text = 'cooler,mount,power_W,fan_rpm,Temp,Temp 2\nA,1,150,1200,142,22\n';
    const yaml = 'columns: {Temp: source_F, Temp 2: ambient_C}';
    expect(bench(text, yaml).runs[0]).toMatchObject({ ambient_C: 22, source_C: expect.closeTo(61.11, 2) });
    expect(() => bench(text, 'columns: {Temp: soruce_F}')).toThrow(
      'bench.yaml:1:17: "soruce_F" is not a column that is read (did you mean "source_F"?)',
    );
  });
});

describe('dates', () => {
  it('day and month by the whole column, else asked', () => {
    expect(dateOrder(['03/04/2024', '05/31/2024'])).toBe('month-day');
    expect(dateOrder(['03/04/2024', '31/05/2024'])).toBe('day-month');
    expect(dateOrder(['03/04/2024'])).toBeUndefined();
    expect(isoDate('03/04/2024', undefined)).toBe('order');
    expect(isoDate('5/31/2024 2:05 PM', 'month-day')).toBe('2024-05-31T14:05:00');
    expect(isoDate('31.05.24, 14:05:30', 'day-month')).toBe('2024-05-31T14:05:30');
    expect(isoDate('2024/5/31', undefined)).toBe('2024-05-31');
    expect(isoDate('31.02.2024', 'day-month')).toBeUndefined();
  });
});
