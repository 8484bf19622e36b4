import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { readBench } from '../../src/bench/read-bench.ts';
import { demoBench } from '../../src/lab/demo-bench.ts';
import { decisionRecord } from '../../src/months/decision-record.ts';
import { recordSection } from '../../src/report/record-section.ts';

describe('the record on the page', () => {
  const files = new Map(demoBench().files);
  files.delete('decisions.yaml');
  const bench = readBench(files);
  const [run] = bench.runs;
  // The identity of the data by Node's own SHA-256, from the description of the list: not by our code.
  const sha256 = (bytes: Uint8Array | string) => createHash('sha256').update(bytes).digest('hex');
  const identity = sha256(
    bench.files
      .toSorted()
      .map((file) => `${sha256(files.get(file) as Uint8Array)}  ${file}\n`)
      .join(''),
  );

  it('is nothing where no chart was recorded', () => {
    expect(recordSection(null)).toBe('');
    expect(recordSection(decisionRecord(files, bench))).toBe('');
  });

  it('names the data, what was left out and why, and what was put right, names escaped', () => {
    const yaml = `charts:
  - chart: spring <b>
    published: 2025-03-14
    dataset: ${'0'.repeat(64)}
    excluded: [{name: ${run.run}, reason: probe fell off & hung}, {name: gone, reason: never seen again}]
    corrections: [{date: 2025-04-02, what: ambient probe moved, dataset: ${identity}}]
`;
    const recorded = new Map(files).set('decisions.yaml', new TextEncoder().encode(yaml));
    const html = recordSection(decisionRecord(recorded, bench));
    expect(html).toContain(
      `as they are now have this identity, the SHA-256 of the list of the files, each with its own: <span class="hash">${identity}`,
    );
    expect(html).toContain('spring &lt;b&gt;, published <time>2025-03-14</time>');
    expect(html).toContain(`Left out: ${run.run}, because probe fell off &amp; hung`);
    expect(html).toContain('Left out: gone, because never seen again (no run and no mount of the bench now)');
    expect(html).toContain('Corrected on <time>2025-04-02</time>: ambient probe moved');
    expect(html).toContain('the files are those of its correction of 2025-04-02');
    expect(html).toContain(`Drawn from the files of the identity <span class="hash">${'0'.repeat(64)}`);
    expect(html).not.toContain('<b>');
  });
});
