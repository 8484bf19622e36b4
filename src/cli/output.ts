import { once } from 'node:events';
import { fstatSync } from 'node:fs';
import type { Output } from '../answers/options/command.ts';
import { asText } from '../answers/text/terminal-text.ts';
import { BenchError } from '../bench/bench-error.ts';
import { writeAll } from './write-all.ts';

const MOST_COLUMNS = 120;
const LEAST_COLUMNS = 60;
const STANDARD_OUTPUT = 1;

/** One line on standard error. */
export function tell(line: string): void {
  process.stderr.write(`${line}\n`);
}

/**
 * Standard output and standard error of this process.
 *
 * A file or a device takes all that it is given or the command ends with a fault: Node's own stream writes once and lets a disk that
 * fills cut the rest off.
 */
export function standardOutput(): Output {
  const { stdout, stderr } = process;
  stderr.on('error', () => {});
  // A reader that stops early (`| head`) closes the pipe; that is no fault.
  stdout.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code === 'EPIPE') process.exit();
    tell(refused(error).message);
    process.exit(2);
  });
  const kind = fstatSync(STANDARD_OUTPUT);
  const streamed = stdout.isTTY === true || kind.isFIFO() || kind.isSocket();
  const write = (text: string): boolean => {
    if (streamed) return stdout.write(text);
    try {
      writeAll(STANDARD_OUTPUT, new TextEncoder().encode(text));
      return true;
    } catch (error) {
      throw refused(error as NodeJS.ErrnoException);
    }
  };
  return {
    width: stdout.isTTY ? Math.min(MOST_COLUMNS, Math.max(LEAST_COLUMNS, stdout.columns ?? 80)) : 80,
    result: (text) => {
      write(text);
    },
    pieces: async (texts) => {
      for (const text of texts) if (!write(text)) await once(stdout, 'drain');
    },
    file: (text) => {
      write(stdout.isTTY ? asText(text) : text);
    },
    warn: (message) => tell(`warning: ${message}`),
    ...(stdout.isTTY && {
      terminal: {
        columns: () => stdout.columns ?? 80,
        isUnicode: /utf-?8/i.test(process.env.LC_ALL || process.env.LC_CTYPE || process.env.LANG || ''),
        renew: (line) => {
          stdout.write(`\r${line}\x1b[K`);
        },
      },
    }),
    bell: () => {
      if (stdout.isTTY) stdout.write('\x07');
      else if (stderr.isTTY) stderr.write('\x07');
    },
  };
}

function refused({ code }: NodeJS.ErrnoException): BenchError {
  const why = code === 'ENOSPC' ? 'the disk is full' : (code ?? 'unknown');
  return new BenchError('standard output', 0, 0, `cannot be written (${why}); send it to another place`);
}
