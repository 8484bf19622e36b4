import { describe, expect, it } from 'vitest';
import type { LogReading } from './log-header.ts';
import { createLogScanner, scanLog } from './log-scanner.ts';

const bytes = (text: string) => new TextEncoder().encode(text);

/** Logs of invented instruments: all hold three rows 30 s apart, at 150 W and 1200 rpm. */
const shapes: Record<string, [string, LogReading?]> = {
  'names of the bench': [
    'time_s,source_C,ambient_C,power_W,fan_rpm\n0,22.5,22,150,1200\n30,25.25,22,150,1200\n60,27,22.1,150,1200\n',
  ],
  'semicolons and decimal commas': [
    'Zeit (s);Heizer (°C);Raumtemperatur (°C);Leistung (W);Drehzahl (U/min)\n0;22,5;22;150;1200\n30;25,25;22;150;1200\n60;27;22,1;150;1200\n',
  ],
  'tabs, a preamble and a byte-order mark': [
    '\ufeffThermo logger TL-4\nSerial no.\t10023\nInterval\t30 s\n\ntime_s\tsource_C\tambient_C\tpower_W\tfan_rpm\n0\t22.5\t22\t150\t1200\n30\t25.25\t22\t150\t1200\n60\t27\t22.1\t150\t1200\n',
  ],
  'a line of units below the header': [
    'Time;Source;Ambient;Power;Fan\ns;°C;°C;W;rpm\n0;22,5;22,0;150,0;1200\n30;25,25;22,0;150,0;1200\n60;27,0;22,1;150,0;1200\n',
  ],
  'ISO 8601 with an offset': [
    'Timestamp,Block temp (°C),Room (°C),Watts,RPM\n2024-05-31T14:05:00+02:00,22.5,22,150,1200\n2024-05-31T14:05:30+02:00,25.25,22,150,1200\n2024-05-31T14:06:00+02:00,27,22.1,150,1200\n',
  ],
  'times of day over midnight': [
    'time,source_C,ambient_C,power_W,fan_rpm\n23:59:15,22.5,22,150,1200\n23:59:45,25.25,22,150,1200\n00:00:15,27,22.1,150,1200\n',
  ],
  'a local date, day first, over midnight': [
    'Zeitstempel;Blocktemperatur [°C];Raum [°C];Last [W];Lüfter [U/min]\n01/02/2024 23:59:15;22,5;22;150;1200\n01/02/2024 23:59:45;25,25;22;150;1200\n02/02/2024 00:00:15;27;22,1;150;1200\n',
  ],
  'a local date, month first, over the end of a month': [
    'Date Time,CPU temp (°F),Intake (°F),Load (W),Fan (rpm)\n1/31/2024 11:59:15 PM,72.5,71.6,150,1200\n1/31/2024 11:59:45 PM,77.45,71.6,150,1200\n2/1/2024 12:00:15 AM,80.6,71.78,150,1200\n',
  ],
  'what was set stands in the index': [
    'elapsed (min),heater (°C),ambient (°C)\n0,22.5,22\n0.5,25.25,22\n1,27,22.1\n',
    { held: { power_W: 150, fan_rpm: 1200 } },
  ],
  'headings of its own, settled by the bench': [
    'ch1,ch2,ch3,ch4,ch5,ch6\n0,22.5,22,0.15,20,x\n30,25.25,22,0.15,20,y\n60,27,22.1,0.15,20,z\n',
    {
      columns: { ch1: 'time_s', ch2: 'source_C', ch3: 'ambient_C', ch4: 'power_kW', ch5: 'fan_rps', ch6: '' },
    },
  ],
};

describe('logs as loggers write them', () => {
  it.each(Object.entries(shapes))('%s', (_, [text, reading]) => {
    const log = scanLog('logs/a.csv', bytes(text), undefined, reading);
    const close = (values: number[]) => values.map((value) => expect.closeTo(value, 9));
    expect([...log.time_s]).toEqual(close([0, 30, 60]));
    expect([...log.source_C]).toEqual(close([22.5, 25.25, 27]));
    expect([...log.ambient_C]).toEqual(close([22, 22, 22.1]));
    expect([...log.power_W]).toEqual([150, 150, 150]);
    const piecewise = createLogScanner('logs/a.csv', undefined, reading);
    for (const byte of bytes(text)) piecewise.push(Uint8Array.of(byte));
    expect(piecewise.finish()).toEqual(log);
  });

  it('says once what was understood', () => {
    const notes = (shape: string) => scanLog('a.csv', bytes(shapes[shape][0])).notes.join('\n');
    expect(notes('names of the bench')).toBe('');
    expect(notes('tabs, a preamble and a byte-order mark')).toContain('4 lines before the header left out');
    expect(notes('semicolons and decimal commas')).toContain('cells between semicolons, decimal commas');
    expect(notes('semicolons and decimal commas')).toContain('"Heizer (°C)" as source_C');
    expect(notes('times of day over midnight')).toContain('midnight');
  });

  it('follows a clock that is set back at the end of summer time', () => {
    const rows = ['02:59:30', '02:59:59', '02:00:29'].map((at) => `${at},25,22,150,1200`);
    const log = scanLog('a.csv', bytes(`time,source_C,ambient_C,power_W,fan_rpm\n${rows.join('\n')}\n`));
    expect([...log.time_s]).toEqual([0, 29, 59]);
    expect(log.notes.join()).toContain('summer time');
  });

  it.each<[string, string, RegExp]>([
    [
      'a temperature of which',
      'time_s,Temp (°C),power_W,fan_rpm,x\n0,22,150,1200,1\n',
      /may be source_C or ambient_C/,
    ],
    [
      'no unit',
      'time_s,Source,ambient_C,power_W,fan_rpm\n0,22,22,150,1200\n',
      /"Source" has no unit.*source_C/,
    ],
    [
      'two sources',
      'time_s,Block (°C),CPU (°C),ambient_C,power_W,fan_rpm\n0,22,23,22,150,1200\n',
      /may both be source_C/,
    ],
    [
      'no load',
      'time_s,source_C,ambient_C,fan_rpm\n0,22,22,1200\n',
      /missing column power_W.*may stand in logs\.csv/,
    ],
    [
      'half a time',
      'time,source_C,ambient_C,power_W,fan_rpm\n14:05,22,22,150,1200\n',
      /"14:05" is not a time; ISO 8601/,
    ],
    ['a nearly known name', 'time_s,source_C,ambient_C,power_W,fan_rpn\n0,22,22,150,1200\n', /fan_rpn/],
  ])('is refused with what to do: %s', (_, text, what) => {
    expect(() => scanLog('logs/a.csv', bytes(text))).toThrow(what);
  });
});
