#!/usr/bin/env node
import { once } from 'node:events';
import type { Output } from './command.ts';
import { BAD_INPUT, run } from './run.ts';

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

process.exitCode = await run(process.argv.slice(2), {
  output,
  fault: (line) => {
    process.stderr.write(`${line}\n`);
  },
});
