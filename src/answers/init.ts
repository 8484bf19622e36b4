import { type DemoOptions, demoBench } from '../lab/demo-bench.ts';
import type { Command } from './options/command.ts';
import { parseSeed } from './options/conditions.ts';
import { jsonText } from './text/json.ts';

export type InitOptions = DemoOptions;

/**
 * Files of the demo bench, by name. The same options give the same bytes.
 *
 * @example init().has('bench.yaml') // true
 */
export function init(options: InitOptions = {}): Map<string, Uint8Array> {
  return demoBench(options).files;
}

export const command: Command = {
  name: 'init',
  operand: 'folder',
  about: `Makes a demo bench: runs of invented coolers on the shipped virtual lab, as a
bench folder to try every other command on. The folder must be new or empty.`,
  example: 'heatladder init demo-bench',
  options: () => ({
    faults: { describe: 'plant a strange mount and a typing error, named in its bench.yaml' },
    seed: { value: 'N', describe: 'start of the random numbers, a whole number (default 1)' },
    json: { describe: 'print the names of the files made as one JSON document' },
  }),
  run: async ({ folder, options, output, files: system }) => {
    const seed = typeof options.seed === 'string' ? parseSeed(options.seed) : 1;
    const files = init({ seed, faults: options.faults === true });
    system.writeFolder(folder, files, '<folder>');
    const names = [...files.keys()];
    output.result(options.json === true ? jsonText({ files: names }) : `${names.join('\n')}\n`);
  },
};
