/** Five invented loggers: each writes rows of a response in its own way. */

export interface LoggerRow {
  time_s: number;
  source_C: number;
  ambient_C: number;
  power_W: number;
  fan_rpm: number;
}

export interface Logger {
  /** Lines before the first row. */
  head: string;
  row: (row: LoggerRow) => string;
  /** What the command needs to know besides. */
  args?: string[];
}

const pad = (value: number) => String(value).padStart(2, '0');
const clock = (seconds: number) =>
  `${pad(Math.floor(seconds / 3600) % 24)}:${pad(Math.floor(seconds / 60) % 60)}:${pad(Math.floor(seconds) % 60)}`;
const comma = (value: number, digits: number) => value.toFixed(digits).replace('.', ',');

export const loggers: Record<string, Logger> = {
  plain: {
    head: 'time_s,source_C,ambient_C,power_W,fan_rpm\n',
    row: ({ time_s, source_C, ambient_C, power_W, fan_rpm }) =>
      `${time_s},${source_C.toFixed(2)},${ambient_C.toFixed(2)},${power_W.toFixed(1)},${fan_rpm.toFixed(0)}\n`,
  },
  'semicolons, decimal commas and a preamble': {
    head: 'Thermo logger TL-4;;;;\nSerial no.;10023;;;\n\nZeit (s);Block (°C);Raum (°C);Last (W);Drehzahl (U/min)\n',
    row: ({ time_s, source_C, ambient_C, power_W, fan_rpm }) =>
      `${time_s};${comma(source_C, 2)};${comma(ambient_C, 2)};${comma(power_W, 1)};${fan_rpm.toFixed(0)}\n`,
  },
  'tabs, Fahrenheit and CRLF': {
    head: 'elapsed (s)\tblock (°F)\troom (°F)\tload (W)\tfan (rpm)\r\n',
    row: ({ time_s, source_C, ambient_C, power_W, fan_rpm }) =>
      `${time_s}\t${(32 + 1.8 * source_C).toFixed(2)}\t${(32 + 1.8 * ambient_C).toFixed(2)}\t${power_W.toFixed(1)}\t${fan_rpm.toFixed(0)}\r\n`,
  },
  'times of day over midnight': {
    head: 'time,source_C,ambient_C,power_W,fan_rpm\n',
    row: ({ time_s, source_C, ambient_C, power_W, fan_rpm }) =>
      `${clock(86_100 + time_s)},${source_C.toFixed(2)},${ambient_C.toFixed(2)},${power_W.toFixed(1)},${fan_rpm.toFixed(0)}\n`,
  },
  'temperatures alone, load and speed as set': {
    head: 'Timestamp,Block temp (°C),Room (°C)\n',
    row: ({ time_s, source_C, ambient_C }) =>
      `2024-05-31T${clock(50_000 + time_s)}+02:00,${source_C.toFixed(2)},${ambient_C.toFixed(2)}\n`,
    args: ['--power', '165', '--fan-rpm', '1200'],
  },
};
