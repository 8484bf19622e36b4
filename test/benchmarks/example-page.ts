import { readBench } from '../../src/bench/read-bench.ts';
import { report } from '../../src/report/report.ts';
import { exampleFiles } from '../page/example-bench.ts';

/** The page that is timed: twelve coolers. */
export const examplePage = (): string => report(readBench(exampleFiles(12)));
