import { describe, expect, it } from 'vitest';
import { makeVirtualBench } from './virtual-bench.ts';

const text = (files: Map<string, Uint8Array>, name: string) => new TextDecoder().decode(files.get(name));

describe('virtual bench', () => {
  it('gives the same bytes for the same seed and others for another', () => {
    const one = makeVirtualBench({ seed: 7 });
    const again = makeVirtualBench({ seed: 7 });
    const other = makeVirtualBench({ seed: 8 });
    expect([...one.files.keys()]).toEqual(['bench.yaml', 'runs.csv', 'coolers.csv', 'noise.csv']);
    for (const [name, bytes] of one.files) expect(again.files.get(name)).toEqual(bytes);
    expect(text(other.files, 'runs.csv')).not.toBe(text(one.files, 'runs.csv'));
  });
});
