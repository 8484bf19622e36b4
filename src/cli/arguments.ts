import { parseArgs } from 'node:util';
import { BenchError } from '../bench/bench-error.ts';
import { didYouMean } from '../bench/nearest-name.ts';
import { type CatalogueEntry, catalogue } from './catalogue.ts';
import type { Command, GivenOptions, OptionTable } from './command.ts';

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
  const options = Object.entries({ ...command.options, ...SHARED }).map(([name, spec]): [string, string] => {
    const short = spec.alias === undefined ? '' : `-${spec.alias}, `;
    return [`${short}--${name}${spec.value === undefined ? '' : ` ${spec.value}`}`, spec.describe];
  });
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

/** Words that are no options, and the options as given: each known, once, and with a value where it takes one. */
function parse(args: readonly string[], command: Command): { words: string[]; options: GivenOptions } {
  const table: OptionTable = { ...command.options, ...SHARED };
  const { tokens } = parseArgs({
    args: [...args],
    strict: false,
    tokens: true,
    options: Object.fromEntries(
      Object.entries(table).map(([name, { alias, value }]) => [
        name,
        { type: value === undefined ? 'boolean' : 'string', ...(alias !== undefined && { short: alias }) },
      ]),
    ),
  });
  const words: string[] = [];
  const options: Record<string, string | true> = Object.create(null);
  for (const token of tokens) {
    if (token.kind === 'positional') words.push(token.value);
    if (token.kind !== 'option') continue;
    const { name, rawName, value } = token;
    if (!Object.hasOwn(table, name)) {
      const known = Object.keys(table).map((option) => `--${option}`);
      throw misuse(
        `no option "${rawName}" for ${command.name}${didYouMean(rawName, known)}; give some of ${known.join(', ')}`,
      );
    }
    const spec = table[name];
    if (options[name] !== undefined)
      throw new BenchError(rawName, 0, 0, 'given more than once; give it once');
    if (spec.value === undefined) {
      if (value !== undefined)
        throw new BenchError(rawName, 0, 0, `it takes no value; give ${rawName} alone`);
      options[name] = true;
      continue;
    }
    // What begins with a dash is the next option, but for a number below zero and for standard output.
    const missing = !value || (!token.inlineValue && /^-(?![\d.]|$)/.test(value));
    if (missing) {
      throw new BenchError(rawName, 0, 0, `a value is missing; give ${spec.value}: ${spec.describe}`);
    }
    options[name] = value;
  }
  return { words, options };
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
