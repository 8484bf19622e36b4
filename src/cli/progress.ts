import type { Progress } from '../answers/options/command.ts';

/**
 * Progress of a task, shown only where standard error is a terminal.
 *
 * @param what  what is counted, as in "logs"
 */
export async function startProgress(what: string): Promise<Progress> {
  if (!process.stderr.isTTY) return { at: () => {}, end: () => {} };
  const { SingleBar } = (await import('cli-progress')).default;
  const bar = new SingleBar({
    format: `{value} of {total} ${what} [{bar}] {eta_formatted} left`,
    barsize: 24,
    barCompleteChar: '=',
    barIncompleteChar: ' ',
    clearOnComplete: true,
    // The work blocks the event loop, so nothing could give back what Ctrl-C would leave: the cursor, the wrapping of lines.
    hideCursor: false,
    linewrap: true,
    gracefulExit: false,
    stream: process.stderr,
  });
  let started = false;
  return {
    at: (done, total) => {
      if (!started) bar.start(total, done);
      else bar.update(done);
      started = true;
    },
    end: () => {
      if (started) bar.stop();
    },
  };
}
