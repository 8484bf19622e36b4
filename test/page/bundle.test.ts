import { gunzipSync } from 'node:zlib';
import { build } from 'esbuild';
import { expect, it } from 'vitest';
import { pageScriptGzipBase64 } from '../../src/report/page.generated.ts';

it("the page's own script reads no tables and fits nothing: that is for its worker", async () => {
  const { metafile } = await build({
    entryPoints: ['src/report/page/page.ts'],
    bundle: true,
    charset: 'utf8',
    format: 'iife',
    logLevel: 'silent',
    metafile: true,
    minify: true,
    platform: 'browser',
    target: 'es2022',
    write: false,
  });
  const [{ inputs }] = Object.values(metafile.outputs);
  const carried = Object.entries(inputs).flatMap(([path, { bytesInOutput }]) =>
    bytesInOutput > 0 ? [path] : [],
  );
  const packages = carried.flatMap((path) => /node_modules\/((?:@[^/]+\/)?[^/]+)/.exec(path)?.[1] ?? []);
  for (const heavy of ['csv-parse', 'ml-levenberg-marquardt', 'ml-matrix', 'mathjs', 'yaml']) {
    expect(packages).not.toContain(heavy);
  }
  expect(carried.filter((path) => /least-squares\/|bench\/(table|columns|read-bench)/.test(path))).toEqual(
    [],
  );
  // As it is shipped.
  expect(gunzipSync(Buffer.from(pageScriptGzipBase64, 'base64')).length).toBeLessThan(240_000);
});
