/** Prints the study of sessions-coverage.ts: node test/benchmarks/run.mjs sessions [benches] [first seed] */
import { acrossSessions } from './sessions-coverage.ts';

const [benches = '40', first = '1'] = process.argv.slice(2);
for (const tied of [true, false]) console.log(acrossSessions(Number(benches), Number(first), tied).line);
