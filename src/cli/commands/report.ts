import { BenchError } from '../../bench/bench-error.ts';
import type { Command } from '../command.ts';
import { conditionOptions, readConditions } from '../conditions.ts';
import { hashedFolder } from '../hashed-folder.ts';
import { placeOf } from '../output-place.ts';
import { writeFileWhole } from '../write-whole.ts';

export const report: Command = {
  name: 'report',
  operand: 'bench',
  about: `Writes one self-contained page: the answer in a sentence, the order at any
load, fan speed or sound level, charts to publish, where the order changes, and
the evidence. The page opens other bench folders too.`,
  example: 'heatladder report demo-bench -o report.html',
  options: {
    output: { alias: 'o', value: 'FILE', describe: 'the page to write; - for standard output' },
    ...conditionOptions,
  },
  run: async ({ folder, options, output, open }) => {
    const place = placeOf(options.output);
    if (place === undefined) {
      throw new BenchError(
        '-o',
        0,
        0,
        'the place of the page is missing; give a file such as -o report.html',
      );
    }
    const bench = await open(folder);
    const conditions = readConditions(options, bench);
    const [{ report: makePage }, { fileHashes }, { decisionRecord }] = await Promise.all([
      import('../../report/report.ts'),
      import('../../report/file-hashes.ts'),
      import('../../months/decision-record.ts'),
    ]);
    const { files, hashes } = hashedFolder(folder);
    const page = makePage(bench, conditions, {
      hashes: fileHashes(files, hashes),
      record: decisionRecord(files, bench, hashes),
    });
    for (const warning of bench.warnings) output.warn(warning);
    if (place === '-') output.file(page);
    else writeFileWhole(place, new TextEncoder().encode(page), '-o');
  },
};
