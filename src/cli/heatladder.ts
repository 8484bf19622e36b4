#!/usr/bin/env node
import { once } from 'node:events';
import { BenchError } from '../bench/bench-error.ts';
import type { Output } from './command.ts';
import { version } from './version.ts';

/** Exit statuses: a fault of the program is told apart from bad input or bad use. */
const FAULT_OF_PROGRAM = 1;
const BAD_INPUT = 2;

const MOST_COLUMNS = 120;
const LEAST_COLUMNS = 60;

/** A reader that stops early (`| head`) closes the pipe; that is no fault. */
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code === 'EPIPE') process.exit();
  const why = error.code === 'ENOSPC' ? 'the disk is full' : (error.code ?? 'unknown');
  process.stderr.write(`standard output:1:1: cannot be written (${why}); send it to another place\n`);
  process.exit(BAD_INPUT);
});
process.stderr.on('error', () => {});

const output: Output = {
  width: process.stdout.isTTY
    ? Math.min(MOST_COLUMNS, Math.max(LEAST_COLUMNS, process.stdout.columns ?? 80))
    : 80,
  result: (text) => {
    process.stdout.write(text);
  },
  pieces: async (texts) => {
    for (const text of texts) if (!process.stdout.write(text)) await once(process.stdout, 'drain');
  },
  warn: (message) => {
    process.stderr.write(`warning: ${message}\n`);
  },
};

async function main(args: readonly string[]): Promise<void> {
  const { readArguments } = await import('./arguments.ts');
  const asked = await readArguments(args);
  if (asked.kind === 'help') output.result(asked.text);
  else if (asked.kind === 'version') output.result(`${version}\n`);
  else await asked.command.run({ folder: asked.folder, options: asked.options, output });
}

/** One line, whatever the message holds. */
const oneLine = (text: string): string => text.replace(/\s*[\r\n]+\s*/g, ' ');

try {
  await main(process.argv.slice(2));
} catch (error) {
  if (error instanceof BenchError) {
    process.stderr.write(`${oneLine(error.message)}\n`);
    process.exitCode = BAD_INPUT;
  } else {
    const what = error instanceof Error ? `${error.name}: ${error.message}` : String(error);
    process.stderr.write(`heatladder: a fault of the program, not of the bench: ${oneLine(what)}\n`);
    process.exitCode = FAULT_OF_PROGRAM;
  }
}
