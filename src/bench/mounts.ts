import type { Bench, Cooler, Run } from './bench.ts';

/** One fitting of one sample on one source, with its runs. */
export interface Mount {
  readonly cooler: string;
  readonly sample: string;
  readonly source: string;
  /** `undefined`: the file does not say which fitting it was, so each such run stands alone. */
  readonly mount: string | undefined;
  readonly runs: readonly Run[];
}

/**
 * The runs grouped by fitting: a mount is known by (cooler, sample, source, mount), a run without a mount is one of
 * its own. In order of first appearance.
 *
 * @example distinctMounts(bench.runs).length // how often a cooler was fitted
 */
export function distinctMounts(runs: readonly Run[]): Mount[] {
  const mounts = new Map<string, Mount & { runs: Run[] }>();
  const order: Mount[] = [];
  for (const run of runs) {
    const { cooler, sample, source, mount } = run;
    const key = JSON.stringify([cooler, sample, source, mount]);
    const known = mount === undefined ? undefined : mounts.get(key);
    if (known) known.runs.push(run);
    else {
      const made = { cooler, sample, source, mount, runs: [run] };
      if (mount !== undefined) mounts.set(key, made);
      order.push(made);
    }
  }
  return order;
}

/** The cooler of that name, `undefined` when the bench has none. */
export function coolerByName(bench: Bench, name: string): Cooler | undefined {
  return bench.coolers.find((cooler) => cooler.cooler === name);
}
