import type { PageData } from '../page-data.ts';
import type { AskedPlan } from '../page-plan.ts';

/** What the page gives to the worker: the files of a bench, one table to make a bench of, or its own bench to fit without some runs or to plan for. */
export type FitRequest =
  | { kind: 'folder' | 'table'; files: [string, Uint8Array][]; version: string }
  | { kind: 'without'; data: PageData; without: readonly string[] }
  | { kind: 'plan'; data: PageData; goal: AskedPlan };

/** What the worker says: how far it is, and in the end the data of a page or the first fault, word for word. */
export type FitReply =
  | { kind: 'progress'; words: string; share: number }
  | { kind: 'done'; data: PageData; read: readonly string[] }
  | { kind: 'fault'; message: string; ours: boolean };
