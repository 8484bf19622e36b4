import { readFileSync } from 'node:fs';
import { basename } from 'node:path';
import { BenchError } from '../../bench/bench-error.ts';
import { shown } from '../../bench/wording.ts';
import type { Command } from '../command.ts';
import { room } from '../conditions.ts';
import { jsonText } from '../json.ts';
import { writeFolderWhole } from '../write-whole.ts';

const STANDARD_INPUT = 0;

export const importCommand: Command = {
  name: 'import',
  operand: 'table',
  about: `Makes a bench folder of one table: a spreadsheet saved as CSV, or its cells
copied and piped in (- for standard input). Commas, semicolons or tabs, decimal
points or commas, notes above the header, merged cells, totals and local dates
are read as they are; what may mean two things is asked for.`,
  example: 'heatladder import demo-bench/spreadsheet.csv -o my-bench',
  options: {
    output: { alias: 'o', value: 'FOLDER', describe: 'the bench folder to make; it must not hold anything' },
    columns: {
      value: 'HEADING=NAME',
      describe: 'what headings are: "Temp=source_F,Temp 2=ambient_C"; nothing behind = carries one along',
    },
    ambient: { value: 'C', describe: 'what the room was held at, °C, for a table of rises alone' },
    name: { value: 'NAME', describe: 'name of the bench (default: that of the table)' },
    json: { describe: 'print how the table was read as one JSON document' },
  },
  run: async ({ folder: place, options, output }) => {
    const target = options.output;
    if (typeof target !== 'string')
      throw new BenchError('--output', 1, 1, 'the folder to make is missing; give it, such as -o my-bench');
    const file = place === '-' ? 'standard input' : basename(place);
    const { importInWords, importTable } = await import('../../bench/import-table.ts');
    const { sayByOption } = await import('../../bench/headings.ts');
    const made = importTable(file, bytesOf(place), {
      columns: columnsOf(options.columns),
      saying: sayByOption,
      ...(typeof options.ambient === 'string' && { ambient_C: room(options.ambient) }),
      ...(typeof options.name === 'string' && { name: options.name }),
    });
    writeFolderWhole(target, made.files, '--output');
    for (const warning of made.warnings) output.warn(warning);
    const { files, ...rest } = made;
    if (options.json === true) {
      output.result(jsonText({ files: [...files.keys()], ...rest }));
      return;
    }
    output.result(
      [
        ...importInWords(made),
        `${rest.runs} runs of ${rest.coolers.length} coolers in ${target}; its bench.yaml says what each key is for`,
        `next: heatladder fit ${target}`,
        '',
      ].join('\n'),
    );
  },
};

function bytesOf(place: string): Uint8Array {
  try {
    return new Uint8Array(readFileSync(place === '-' ? STANDARD_INPUT : place));
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    if (place === '-' && code === 'EAGAIN') return new Uint8Array();
    const why = code === 'EISDIR' ? 'is a folder' : code === 'ENOENT' ? 'does not exist' : 'cannot be read';
    throw new BenchError(
      'table',
      1,
      1,
      `${shown(place)} ${why}; give a table saved as CSV, or - to pipe one in`,
    );
  }
}

/** `Temp=source_F,Temp 2=ambient_C`; a heading may hold a comma, a name cannot. */
function columnsOf(text: string | true | undefined): Record<string, string> {
  const columns: Record<string, string> = Object.create(null);
  if (typeof text !== 'string') return columns;
  let at = 1;
  for (const part of text.split(/(?<==\w*),/)) {
    const sign = part.lastIndexOf('=');
    if (sign < 1) {
      throw new BenchError(
        '--columns',
        1,
        at,
        `${shown(part)} says nothing; give HEADING=NAME, such as "Temp=source_F"`,
      );
    }
    columns[part.slice(0, sign).trim()] = part.slice(sign + 1).trim();
    at += part.length + 1;
  }
  return columns;
}
