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
];
