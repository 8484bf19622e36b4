import type { Command } from './command.ts';

/** A command as the overview shows it; its module is loaded only when it is called or asked for help. */
export interface CatalogueEntry {
  name: string;
  summary: string;
  load: () => Promise<Command>;
}

/** Every command that works, in the order of the work on a bench. To add one, write its module and list it here. */
export const catalogue: readonly CatalogueEntry[] = [
  {
    name: 'init',
    summary: 'make a demo bench from the shipped virtual lab',
    load: async () => (await import('./commands/init.ts')).init,
  },
  {
    name: 'import',
    summary: 'make a bench of the table that you have',
    load: async () => (await import('./commands/import.ts')).importCommand,
  },
  {
    name: 'reduce',
    summary: 'steady states from raw logs, and when each run could have been stopped',
    load: async () => (await import('./commands/reduce.ts')).reduce,
  },
  {
    name: 'watch',
    summary: 'a run followed while it is logged: when to stop it, and what is wrong',
    load: async () => (await import('./commands/watch.ts')).watch,
  },
  {
    name: 'fit',
    summary: 'resistances, models with their weights, and the scatter of the bench',
    load: async () => (await import('./commands/fit.ts')).fit,
  },
  {
    name: 'predict',
    summary: 'the rise of each cooler at loads that were not run',
    load: async () => (await import('./commands/predict.ts')).predict,
  },
  {
    name: 'compare',
    summary: 'who is ahead at each load, what ties, and where the order changes',
    load: async () => (await import('./commands/compare.ts')).compare,
  },
  {
    name: 'simulate',
    summary: 'temperature against time for a load profile, its peak and its limit',
    load: async () => (await import('./commands/simulate.ts')).simulate,
  },
  {
    name: 'flatness',
    summary: 'how flat each base is and what its unevenness costs at a load',
    load: async () => (await import('./commands/flatness.ts')).flatness,
  },
  {
    name: 'plan',
    summary: 'which runs to do next, in order, and what they should buy',
    load: async () => (await import('./commands/plan.ts')).plan,
  },
  {
    name: 'rehearse',
    summary: 'a plan carried out on the fitted virtual lab, many times',
    load: async () => (await import('./commands/rehearse.ts')).rehearse,
  },
  {
    name: 'screen',
    summary: 'strange runs and mounts, their likely cause, and the run that would tell',
    load: async () => (await import('./commands/screen.ts')).screen,
  },
  {
    name: 'sessions',
    summary: 'whether old and new results compare: control chart, methods, record',
    load: async () => (await import('./commands/sessions.ts')).sessions,
  },
  {
    name: 'report',
    summary: 'one self-contained page of all of it',
    load: async () => (await import('./commands/report.ts')).report,
  },
];
