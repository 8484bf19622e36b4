import { BenchError } from '../bench/bench-error.ts';
import { decisionRecord } from '../months/decision-record.ts';
import type { Command } from './options/command.ts';
import { conditionOptions, readConditions } from './options/conditions.ts';

export type { ReportOptions } from '../report/report.ts';

export const command: Command = {
  name: 'report',
  operand: 'bench',
  about: `Writes one self-contained page: the answer in a sentence, the order at any
load, fan speed or sound level, charts to publish, where the order changes, and
the evidence. The page opens other bench folders too.`,
  example: 'heatladder report demo-bench -o report.html',
  options: () => ({
    output: { alias: 'o', value: 'FILE', describe: 'the page to write; - for standard output' },
    ...conditionOptions,
  }),
  run: async ({ folder, options, output, open, files: system }) => {
    const place = system.placeOf(options.output);
    if (place === undefined) {
      throw new BenchError(
        '--output',
        0,
        0,
        'the place of the page is missing; give a file such as -o report.html',
      );
    }
    const bench = await open(folder);
    const conditions = readConditions(options, bench);
    // Two megabytes of chart library, which nothing else needs.
    const [{ report }, { fileHashes }] = await Promise.all([
      import('../report/report.ts'),
      import('../report/file-hashes.ts'),
    ]);
    const { files, hashes } = system.hashed(folder);
    const page = report(bench, conditions, {
      hashes: fileHashes(files, hashes),
      record: decisionRecord(files, bench, hashes),
    });
    for (const warning of bench.warnings) output.warn(warning);
    if (place === '-') output.file(page);
    else system.write(place, page, '--output');
  },
};
