import { readBench } from '../../src/bench/read-bench.ts';
import { report } from '../../src/report/report.ts';
import { exampleFiles } from '../page/example-bench.ts';

/** The page that is timed. */
export const examplePage = (coolers = 12): string => report(readBench(exampleFiles(coolers)));
