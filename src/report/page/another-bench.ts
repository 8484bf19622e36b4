import type { PageData } from '../page-data.ts';
import { byId } from './dom.ts';
import { unpacked } from './unpack.ts';
import type { FitReply, FitRequest } from './worker-messages.ts';

let engine: Promise<string> | undefined;
let running: Worker | undefined;

/**
 * Reads and fits the folder that was picked, in a worker whose text the page carries.
 *
 * @param onDone  called with the data of a page; on a fault the reader's own message stands in the page instead
 */
export async function fitFolder(
  picked: FileList,
  version: string,
  onDone: (data: PageData) => void,
): Promise<void> {
  const fault = byId('folder-fault');
  fault.textContent = '';
  tell('reading', 0);
  try {
    const files = await readPicked(picked);
    engine ??= unpacked('engine-packed');
    const address = URL.createObjectURL(new Blob([await engine], { type: 'text/javascript' }));
    running?.terminate();
    const worker = new Worker(address);
    running = worker;
    worker.onmessage = ({ data: reply }: MessageEvent<FitReply>) => {
      if (reply.kind === 'progress') {
        tell(reply.words, reply.share);
        return;
      }
      worker.terminate();
      URL.revokeObjectURL(address);
      tell('', undefined);
      if (reply.kind === 'done') onDone(reply.data);
      else fault.textContent = reply.ours ? `This is a fault of the page: ${reply.message}` : reply.message;
    };
    worker.onerror = (event) => {
      event.preventDefault();
      tell('', undefined);
      fault.textContent = `This is a fault of the page: ${event.message}`;
    };
    worker.postMessage({ files, version } satisfies FitRequest);
  } catch (error) {
    tell('', undefined);
    fault.textContent = error instanceof Error ? error.message : String(error);
  }
}

/** Tables, settings and models; which of them the bench reads, its reader in the worker says. */
const MAY_BE_READ = /^[^.][^/]*\.(csv|ya?ml)$|^(logs|flatness|models)\/.*\.(csv|ya?ml)$/i;

/** Files of a bench by their path below the folder that was picked; others are left alone. */
async function readPicked(picked: FileList): Promise<[string, Uint8Array][]> {
  const files: [string, Uint8Array][] = [];
  for (const file of picked) {
    const path = file.webkitRelativePath.split('/').slice(1).join('/') || file.name;
    if (MAY_BE_READ.test(path)) files.push([path, new Uint8Array(await file.arrayBuffer())]);
  }
  return files;
}

function tell(words: string, share: number | undefined): void {
  const bar = byId<HTMLProgressElement>('progress');
  bar.hidden = share === undefined;
  bar.value = share ?? 0;
  const told = byId('progress-words');
  if (told.textContent !== words) told.textContent = words;
}
