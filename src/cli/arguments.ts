import yargs from 'yargs';
import { type CatalogueEntry, catalogue } from '../answers/commands.ts';
import type { Command, GivenOptions, OptionTable } from '../answers/options/command.ts';
import { BenchError } from '../bench/bench-error.ts';
import { didYouMean } from '../bench/nearest-name.ts';

/** What the command line asks for. */
export type Asked =
  | { kind: 'help'; text: string }
  | { kind: 'version' }
  | { kind: 'run'; command: Command; folder: string; options: GivenOptions };

const PROGRAM = 'heatladder';
const SHARED: OptionTable = {
  help: { describe: 'show this help' },
};

const OPERANDS = { bench: 'bench folder', folder: 'folder to make', table: 'table, or - for standard input' };

function misuse(what: string): BenchError {
  return new BenchError(PROGRAM, 0, 0, what);
}

/** Two columns, the second wrapped, 80 wide. */
function twoColumns(rows: readonly (readonly [string, string])[]): string[] {
  const left = Math.max(...rows.map(([name]) => name.length)) + 4;
  const lines: string[] = [];
  for (const [name, text] of rows) {
    let line = `  ${name}`.padEnd(left);
    for (const word of text.split(' ')) {
      if (line.length + word.length + 1 > 80) {
        lines.push(line.trimEnd());
        line = ' '.repeat(left - 1);
      }
      line += line.length === left ? word : ` ${word}`;
    }
    lines.push(line.trimEnd());
  }
  return lines;
}

function overview(): string {
  return `${[
    'Predicts how warm a processor cooler gets at loads not yet run, and says which',
    'differences between coolers the test can tell.',
    '',
    `Usage: ${PROGRAM} <command> <bench folder> [options]`,
    '',
    'Commands',
    ...twoColumns([
      ...catalogue.map((entry): [string, string] => [entry.name, entry.summary]),
      ['completion', 'a script that completes these words in bash, zsh or fish'],
    ]),
    '',
    'Options',
    ...twoColumns([
      ['--help', 'show this help; after a command, that of the command'],
      ['--version', 'show the version'],
    ]),
    '',
    'Example',
    `  ${PROGRAM} init demo-bench && ${PROGRAM} compare demo-bench --power 90,230`,
  ].join('\n')}\n`;
}

function commandHelp(command: Command): string {
  const options = Object.entries({ ...command.options(), ...SHARED }).map(
    ([name, spec]): [string, string] => {
      const short = spec.alias === undefined ? '' : `-${spec.alias}, `;
      return [`${short}--${name}${spec.value === undefined ? '' : ` ${spec.value}`}`, spec.describe];
    },
  );
  return `${[
    command.about,
    '',
    `Usage: ${PROGRAM} ${command.name} <${command.operand}> [options]`,
    '',
    'Options',
    ...twoColumns(options),
    '',
    'Example',
    `  ${command.example}`,
  ].join('\n')}\n`;
}

function findCommand(name: string): CatalogueEntry {
  const found = catalogue.find((entry) => entry.name === name);
  if (found !== undefined) return found;
  const names = catalogue.map((entry) => entry.name);
  throw misuse(`no command "${name}"${didYouMean(name, names)}; give one of ${names.join(', ')}`);
}

/** A lone dash after an option is its value, standard output, and not another option. */
function joinDashes(args: readonly string[]): string[] {
  return args.flatMap((arg, i) => {
    if (arg === '-' && args[i - 1]?.startsWith('-')) return [];
    return [arg.startsWith('-') && args[i + 1] === '-' ? `${arg}=-` : arg];
  });
}

/** Words that are no options, and the options as given: each known, once, and with a value where it takes one. */
function parse(args: readonly string[], command: Command): { words: string[]; options: GivenOptions } {
  const table: OptionTable = { ...command.options(), ...SHARED };
  const fault = (name: string, what: string) => new BenchError(`--${name}`, 0, 0, what);
  const aliases = Object.values(table).flatMap(({ alias }) => alias ?? []);
  for (const arg of args) {
    if (!/^-(?![\d.]|$)/.test(arg)) continue;
    const [shown] = arg.split('=');
    const name = shown.replace(/^--?/, '');
    if (shown.startsWith('--') ? !Object.hasOwn(table, name) : !aliases.includes(name[0])) {
      const known = Object.keys(table).map((option) => `--${option}`);
      const what = `not an option of ${command.name}${didYouMean(shown, known)}; give some of ${known.join(', ')}`;
      throw new BenchError(shown, 0, 0, what);
    }
    if (arg !== shown && Object.hasOwn(table, name) && table[name].value === undefined) {
      throw fault(name, `it takes no value; give ${shown} alone`);
    }
  }
  // It only parses: it neither prints nor ends the program, and leaves every value as text.
  const parsing = yargs(joinDashes(args))
    .locale('en')
    .help(false)
    .version(false)
    .exitProcess(false)
    .fail((message, error) => {
      throw error ?? misuse(message);
    })
    .parserConfiguration({
      'boolean-negation': false,
      'camel-case-expansion': false,
      'dot-notation': false,
      'parse-numbers': false,
      'parse-positional-numbers': false,
      'short-option-groups': false,
      'strip-aliased': true,
    });
  for (const [name, { alias, value }] of Object.entries(table)) {
    parsing.option(name, { type: value === undefined ? 'boolean' : 'string', ...(alias && { alias }) });
  }
  const given = parsing.parseSync() as Record<string, unknown> & { _: (string | number)[] };
  const options: Record<string, string | true> = Object.create(null);
  for (const [name, value] of Object.entries(given)) {
    if (name === '_' || name === '$0' || value === undefined) continue;
    const spec = table[name];
    if (Array.isArray(value)) throw fault(name, 'given more than once; give it once');
    if (spec.value === undefined) {
      if (value === true) options[name] = true;
    } else if (typeof value !== 'string' || value === '') {
      throw fault(name, `a value is missing; give ${spec.value}: ${spec.describe}`);
    } else options[name] = value;
  }
  return { words: given._.map(String), options };
}

/**
 * Reads the command line.
 *
 * @throws BenchError for an unknown command or option, with the nearest known one, or a missing folder
 */
export async function readArguments(args: readonly string[]): Promise<Asked> {
  const first = args.find((arg) => !arg.startsWith('-'));
  if (first === undefined) {
    if (args.includes('--version')) return { kind: 'version' };
    if (args.length === 0 || args.includes('--help')) return { kind: 'help', text: overview() };
    throw misuse(`no command; give one of ${catalogue.map((entry) => entry.name).join(', ')}, or --help`);
  }
  if (first === 'completion' && !args.includes('--help')) {
    const { completionScript } = await import('./completion.ts');
    return { kind: 'help', text: await completionScript(args.slice(args.indexOf(first) + 1), SHARED) };
  }
  if (first === 'help' || first === 'completion') return { kind: 'help', text: overview() };
  const command = await findCommand(first).load();
  if (args.includes('--help')) return { kind: 'help', text: commandHelp(command) };
  const { words, options } = parse(args, command);
  const [, folder, ...more] = words;
  if (folder === undefined || folder === '') {
    throw misuse(`${command.name} needs a ${OPERANDS[command.operand]}; give ${command.example}`);
  }
  if (more.length > 0) {
    throw misuse(
      `"${more[0]}" is one ${command.operand === 'table' ? 'table' : 'folder'} too many; give ${PROGRAM} ${command.name} <${command.operand}> [options]`,
    );
  }
  return { kind: 'run', command, folder, options };
}
