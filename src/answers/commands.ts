import type { Command } from './options/command.ts';

/** A command as the overview shows it; its module is loaded only when it is called or asked for help. */
export interface CatalogueEntry {
  name: string;
  summary: string;
  load: () => Promise<Command>;
}

type Listed = readonly [summary: string, load: () => Promise<{ command: Command }>];

/** Every command, in the order of the work on a bench: a file of this folder each, and its line here. */
const listed: Readonly<Record<string, Listed>> = {
  init: ['make a demo bench from the shipped virtual lab', () => import('./init.ts')],
  import: ['make a bench from a table that you have', () => import('./import.ts')],
  reduce: [
    'steady states from raw logs, and when each run could have been stopped',
    () => import('./reduce.ts'),
  ],
  watch: ['follow a run while it is logged: when to stop it, and what is wrong', () => import('./watch.ts')],
  fit: ['resistances, models with their weights, and the scatter of the bench', () => import('./fit.ts')],
  predict: ['the rise of each cooler at loads that were not run', () => import('./predict.ts')],
  compare: [
    'who is ahead at each load, which coolers tie, and where the order changes',
    () => import('./compare.ts'),
  ],
  simulate: [
    'temperature against time for a load profile, its peak and its limit',
    () => import('./simulate.ts'),
  ],
  flatness: ['how flat each base is and what its unevenness costs at a load', () => import('./flatness.ts')],
  plan: ['which runs to do next, in order, and what to expect of them', () => import('./plan.ts')],
  rehearse: ['a plan carried out on the fitted virtual lab, many times', () => import('./rehearse.ts')],
  screen: [
    'strange runs and mounts, their likely causes, and the run that would confirm them',
    () => import('./screen.ts'),
  ],
  sessions: [
    'whether old and new results are comparable: control chart, methods, record',
    () => import('./sessions.ts'),
  ],
  report: ['all of it on one self-contained page', () => import('./report.ts')],
};

export const catalogue: readonly CatalogueEntry[] = Object.entries(listed).map(([name, [summary, load]]) => ({
  name,
  summary,
  load: async () => (await load()).command,
}));
