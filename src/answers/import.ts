import { sayByOption } from '../bench/headings.ts';
import { importInWords, importTable } from '../bench/import-table.ts';
import { shown } from '../bench/wording.ts';
import type { Command } from './options/command.ts';
import { fault, room } from './options/conditions.ts';
import { jsonText } from './text/json.ts';

export const command: Command = {
  name: 'import',
  operand: 'table',
  about: `Makes a bench folder from one table: a spreadsheet saved as CSV, or its cells
copied and piped in (- for standard input). Commas, semicolons or tabs, decimal
points or commas, notes above the header, merged cells, totals and local dates
are read as they are. Where a heading may mean two things, the message says what
to write.`,
  example: 'heatladder import demo-bench/spreadsheet.csv -o my-bench',
  options: () => ({
    output: { alias: 'o', value: 'FOLDER', describe: 'the bench folder to make; it must be new or empty' },
    columns: {
      value: 'HEADING=NAME',
      describe:
        'meaning of headings: "Temp=source_F,Temp 2=ambient_C"; with nothing after = the column is kept unread',
    },
    ambient: { value: 'C', describe: 'room temperature, °C, for a table that has only rises' },
    name: { value: 'NAME', describe: 'name of the bench (default: that of the table)' },
    json: { describe: 'print how the table was read as one JSON document' },
  }),
  run: async ({ folder: place, options, output, files: system }) => {
    const target = options.output;
    if (typeof target !== 'string')
      throw fault('output', 'the folder to make is missing; give it, such as -o my-bench');
    const { name: file, bytes } = system.table(place);
    const made = importTable(file, bytes, {
      columns: columnsOf(options.columns),
      saying: sayByOption,
      ...(typeof options.ambient === 'string' && { ambient_C: room(options.ambient) }),
      ...(typeof options.name === 'string' && { name: options.name }),
    });
    system.writeFolder(target, made.files, '--output');
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

/** `Temp=source_F,Temp 2=ambient_C`; a heading may hold a comma, a name cannot. */
function columnsOf(text: string | true | undefined): Record<string, string> {
  const columns: Record<string, string> = Object.create(null);
  if (typeof text !== 'string') return columns;
  for (const part of text.split(/(?<==\w*),/)) {
    const sign = part.lastIndexOf('=');
    if (sign < 1) {
      throw fault('columns', `${shown(part)} has no = in it; give HEADING=NAME, such as "Temp=source_F"`);
    }
    columns[part.slice(0, sign).trim()] = part.slice(sign + 1).trim();
  }
  return columns;
}
