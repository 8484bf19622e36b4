import { describe, expect, it } from 'vitest';
import { compare, compareTables } from '../answers/compare.ts';
import type { Bench } from '../bench/bench.ts';
import { readBench } from '../bench/read-bench.ts';
import { makeRandom } from '../lab/random.ts';

const SESSIONS = ['winter', 'spring', 'summer', 'autumn'];

/** Sedge is run in every session where it ties them, each of the others in one; the sensors of autumn read some kelvin high. */
function bench({ ties = true, off_K = 0 } = {}): Bench {
  const random = makeRandom(7);
  const rows = ['cooler,mount,session,power_W,fan_rpm,source_C,ambient_C'];
  const add = (cooler: string, K_per_W: number, session: string) => {
    const mount = random.normal(0, 0.003);
    for (const load of [60, 120, 180]) {
      const rise = load * (K_per_W + mount) + (session === 'autumn' ? off_K : 0) + random.normal(0, 0.05);
      rows.push(`${cooler},${session},${session},${load},1000,${(22 + rise).toFixed(2)},22`);
    }
  };
  for (const session of ties ? SESSIONS : []) add('Sedge', 0.2, session);
  add('Alder', 0.18, 'winter');
  add('Rush', 0.24, 'autumn');
  add('Teasel', 0.3, 'autumn');
  const bytes = (text: string) => new TextEncoder().encode(text);
  return readBench(
    new Map([
      ['bench.yaml', bytes(`name: attic\n${ties ? 'reference_cooler: Sedge\n' : ''}`)],
      ['runs.csv', bytes(`${rows.join('\n')}\n`)],
    ]),
  );
}
const asked = { power_W: [150] };
const names = ({ session_doubt: doubt }: ReturnType<typeof compare>) =>
  doubt?.pairs.map(({ a, b }) => `${a} ${b}`);

describe('what a comparison says of its sessions', () => {
  it('is nothing where they are tied and in control', () => {
    expect(compare(bench(), asked).session_doubt).toBeUndefined();
  });

  it('names a session out of control and the differences that rest on it, not those within it', () => {
    const result = compare(bench({ off_K: 4 }), asked);
    expect(result.session_doubt).toMatchObject({ out_of_control: ['autumn'], untied: [] });
    expect(names(result)).toEqual([
      'Sedge Alder',
      'Sedge Rush',
      'Sedge Teasel',
      'Alder Rush',
      'Alder Teasel',
    ]);
    const [first, second] = compareTables(result)
      .split(/(?<=\.)\n/)
      .map((line) => line.replaceAll('\n', ' '));
    expect(first).toMatch(/^At 150 W /);
    expect(second).toMatch(
      /^Sedge was out of control in session autumn: 5 of the 6 differences rest on that, and (all|\d) of them (is|are) told apart only as far as that holds\./,
    );
  });

  it('names sessions that no cooler ties, in its first sentences and by pair', () => {
    const result = compare(bench({ ties: false }), asked);
    expect(result.session_doubt).toMatchObject({ out_of_control: [], untied: [['winter'], ['autumn']] });
    expect(names(result)).toEqual(['Alder Rush', 'Alder Teasel']);
    expect(result.session_doubt?.verdict).toMatch(
      /^No cooler was run in two of these sessions: winter \| autumn\. How sensors and paste differ between them is then only assumed; 2 of the 3 differences rest on that/,
    );
  });
});
