import { PassThrough } from 'node:stream';
import { afterEach, expect, it, vi } from 'vitest';
import { startProgress } from './progress.ts';

afterEach(() => vi.restoreAllMocks());

it('leaves a terminal as it is, since a work that is broken off cannot put it right', async () => {
  const said: string[] = [];
  const stream = Object.assign(new PassThrough(), {
    isTTY: true,
    columns: 80,
    cursorTo: () => {},
    clearLine: () => {},
  });
  stream.on('data', (part: Buffer) => said.push(part.toString()));
  vi.spyOn(process, 'stderr', 'get').mockReturnValue(stream as unknown as typeof process.stderr);
  const handlers = process.listenerCount('SIGINT');
  const progress = await startProgress('logs reduced');
  progress.at(1, 3);
  // With a handler of its own the process would outlive Ctrl-C until the work is done.
  expect(process.listenerCount('SIGINT')).toBe(handlers);
  // Neither a hidden cursor nor lines that no longer wrap.
  for (const mode of ['[?25l', '[?7l']) expect(said.join('')).not.toContain(mode);
  progress.end();
});
