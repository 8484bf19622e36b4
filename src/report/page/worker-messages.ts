import type { PageData } from '../page-data.ts';

/** What the page gives to the worker: the files of a bench. */
export interface FitRequest {
  files: [string, Uint8Array][];
  version: string;
}

/** What the worker says: how far it is, and in the end the data of a page or the first fault, word for word. */
export type FitReply =
  | { kind: 'progress'; words: string; share: number }
  | { kind: 'done'; data: PageData }
  | { kind: 'fault'; message: string; ours: boolean };
