import { readdirSync } from 'node:fs';
import { expect, it } from 'vitest';
import { catalogue } from '../../src/answers/commands.ts';

const LIST = 'commands.ts';

it('lists every file of the folder as a command, and no other', () => {
  const files = readdirSync(new URL('../../src/answers/', import.meta.url)).filter(
    (name) => name.endsWith('.ts') && !name.endsWith('.test.ts') && name !== LIST,
  );
  expect(catalogue.map(({ name }) => `${name}.ts`).sort()).toEqual(files.sort());
});

it('finds in each file the command of its name, with an example of it and --json or a place to write', async () => {
  for (const { name, load } of catalogue) {
    const command = await load();
    expect(command.name).toBe(name);
    expect(command.example).toContain(`heatladder ${name} `);
    expect(Object.keys(command.options()).some((option) => option === 'json' || option === 'output')).toBe(
      true,
    );
  }
});
