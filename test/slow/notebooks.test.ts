import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { denoBinary, type Kernel, startKernel } from '../notebooks/deno-kernel.ts';
import {
  drift,
  joinLines,
  type Notebook,
  type Output,
  plainOutput,
  withOutputs,
} from '../notebooks/notebook.ts';

/** Outputs are written anew, and not compared, with HEATLADDER_NOTEBOOKS=write. */
const write = process.env.HEATLADDER_NOTEBOOKS === 'write';
const folder = new URL('../../notebooks/', import.meta.url);
const files = readdirSync(folder).filter((name) => name.endsWith('.ipynb'));

const read = (file: string): Notebook => JSON.parse(readFileSync(new URL(file, folder), 'utf8'));

async function run(notebook: Notebook): Promise<Output[][]> {
  const kernel: Kernel = await startKernel(fileURLToPath(folder));
  try {
    const outputs: Output[][] = [];
    for (const cell of notebook.cells) {
      if (cell.cell_type !== 'code') continue;
      outputs.push(await kernel.execute(String(joinLines(cell.source))));
    }
    return outputs;
  } finally {
    await kernel.stop();
  }
}

function compare(now: Output, held: Output, where: string): void {
  expect(now.output_type, where).toBe(held.output_type);
  const texts = (output: Output): Record<string, unknown> =>
    output.output_type === 'stream'
      ? { [output.name]: output.text }
      : output.output_type === 'error'
        ? { error: output.evalue }
        : output.data;
  const [a, b] = [texts(now), texts(held)];
  expect(Object.keys(a), where).toEqual(Object.keys(b));
  for (const [type, value] of Object.entries(a)) {
    if (typeof value === 'string' && typeof b[type] === 'string')
      expect(drift(value, b[type]), `${where}, ${type}`).toBeUndefined();
    else expect(value, `${where}, ${type}`).toEqual(b[type]);
  }
}

it('the kernel is there', () => {
  expect(existsSync(denoBinary())).toBe(true);
});

it('there are at least five worked studies', () => {
  expect(files.length).toBeGreaterThanOrEqual(5);
});

describe.each(files)('%s', (file) => {
  it(write ? 'is run, and its outputs are written' : 'gives the outputs it was committed with', async () => {
    const notebook = read(file);
    const outputs = (await run(notebook)).map((list) => list.map(plainOutput));
    const failed = outputs.flatMap((list, i) =>
      list.flatMap((output) =>
        output.output_type === 'error' ? [`code cell ${i + 1}: ${output.ename}: ${output.evalue}`] : [],
      ),
    );
    expect(failed, 'cells that failed').toEqual([]);
    if (write) {
      writeFileSync(new URL(file, folder), withOutputs(notebook, outputs));
      return;
    }
    const cells = notebook.cells.filter((cell) => cell.cell_type === 'code');
    cells.forEach((cell, i) => {
      const held = (cell.outputs ?? []).map(plainOutput);
      const where = `${file}, code cell ${i + 1}`;
      expect(outputs[i].length, where).toBe(held.length);
      outputs[i].forEach((output, k) => {
        compare(output, held[k], where);
      });
    });
    expect(cells.some((cell) => (cell.outputs ?? []).length > 0)).toBe(true);
  }, 120_000);

  it('imports nothing but the public library and the figures', () => {
    const code = read(file)
      .cells.filter((cell) => cell.cell_type === 'code')
      .map((cell) => joinLines(cell.source))
      .join('\n');
    const imported = [...code.matchAll(/from\s+'([^']+)'|import\(\s*'([^']+)'/g)].map((m) => m[1] ?? m[2]);
    expect(imported).toContain('heatladder');
    expect(imported.filter((name) => name !== 'heatladder' && name !== './figure.ts')).toEqual([]);
    expect(code).not.toMatch(/\bDeno\./);
  });

  it('explains in words before it computes, and names a TypeScript kernel', () => {
    const { cells, metadata } = read(file);
    expect(metadata.kernelspec).toEqual({ display_name: 'Deno', language: 'typescript', name: 'deno' });
    expect(cells[0].cell_type).toBe('markdown');
    expect(new Set(cells.map((cell) => cell.id)).size).toBe(cells.length);
  });
});

describe('drift', () => {
  it('passes what differs by a millionth and no more', () => {
    expect(drift('rise 12.3000001 K', 'rise 12.3 K')).toBeUndefined();
    expect(drift('rise 12.30002 K', 'rise 12.3 K')).toMatch(/12.30002/);
    expect(drift('−3.0000001', '−3')).toBeUndefined();
    expect(drift('3', '−3')).toBeDefined();
  });
  it('holds text to the letter', () => {
    expect(drift('a tie', 'a Tie')).toBeDefined();
    expect(drift('1 2', '1 2 3')).toBeDefined();
    expect(drift('1 2 3', '1 2')).toBeDefined();
    expect(drift('', 'x')).toBeDefined();
  });
});
