import type { PageData } from '../page-data.ts';
import { byId } from './dom.ts';
import { unpacked } from './unpack.ts';
import type { FitReply, FitRequest } from './worker-messages.ts';

/** Reads and fits what was given, in a worker whose text the page carries: one at a time, the latest. */
export class GivenFits {
  #engine: Promise<string> | undefined;
  #running: Worker | undefined;

  /**
   * @param place  where progress and a fault stand: where the reader acted
   * @param onDone  called with the data of a page; on a fault the reader's own message stands in the page instead
   */
  async fit(
    asked: () => FitRequest | undefined | Promise<FitRequest | undefined>,
    place: Element,
    onDone: (data: PageData, read: readonly string[]) => void,
  ): Promise<void> {
    const fault = byId('given-fault');
    if (byId('given').parentElement !== place) place.prepend(byId('given'));
    fault.textContent = '';
    tell('reading', 0);
    try {
      const request = await asked();
      if (request === undefined) {
        tell('', undefined);
        return;
      }
      this.#engine ??= unpacked('engine-packed');
      const address = URL.createObjectURL(new Blob([await this.#engine], { type: 'text/javascript' }));
      this.#running?.terminate();
      const worker = new Worker(address);
      this.#running = worker;
      worker.onmessage = ({ data: reply }: MessageEvent<FitReply>) => {
        if (reply.kind === 'progress') {
          tell(reply.words, reply.share);
          return;
        }
        worker.terminate();
        URL.revokeObjectURL(address);
        tell('', undefined);
        if (reply.kind === 'done') onDone(reply.data, reply.read);
        else fault.textContent = reply.ours ? `This is a fault of the page: ${reply.message}` : reply.message;
      };
      worker.onerror = (event) => {
        event.preventDefault();
        tell('', undefined);
        fault.textContent = `This is a fault of the page: ${event.message}`;
      };
      worker.postMessage(request);
    } catch (error) {
      tell('', undefined);
      fault.textContent = error instanceof Error ? error.message : String(error);
    }
  }
}

function tell(words: string, share: number | undefined): void {
  const bar = byId<HTMLProgressElement>('progress');
  bar.hidden = share === undefined;
  bar.value = share ?? 0;
  const told = byId('progress-words');
  if (told.textContent !== words) told.textContent = words;
}
