/** The shipped sources, compiled at build time from `models/sources/*.yaml` so that they are there without files. */
import { compiledSources } from './shipped-sources.generated.ts';
import { checkSource, type Source } from './source-geometry.ts';

export const shippedSources: readonly Source[] = compiledSources.map((plain) =>
  checkSource(plain, (path, what) => new RangeError(`a shipped source, ${path.join('/')}: ${what}`)),
);

/** The shipped source of a name, or `undefined`. */
export function shippedSource(name: string): Source | undefined {
  return shippedSources.find(({ source }) => source === name);
}
