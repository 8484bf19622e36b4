import type { Bench, Cooler, Run } from './bench.ts';
import { groupedBy } from './grouped.ts';

/** One fitting of one sample on one source, with its runs. */
export interface Mount {
  readonly cooler: string;
  readonly sample: string;
  readonly source: string;
  /** `undefined`: the file does not say which fitting it was, so each such run stands alone. */
  readonly mount: string | undefined;
  readonly runs: readonly Run[];
}

/** Names the fitting of a run: by (cooler, sample, source, mount); a run without a mount has one of its own. */
export function mountKey({ run, cooler, sample, source, mount }: Run): string {
  return JSON.stringify(mount === undefined ? [run] : [cooler, sample, source, mount]);
}

/** How many fittings the runs are of; a run without a mount counts as one. */
export function countMounts(runs: readonly Run[]): number {
  return new Set(runs.map(mountKey)).size;
}

/**
 * The runs grouped by fitting, see {@link mountKey}, in order of first appearance.
 *
 * @example distinctMounts(bench.runs).length // how often a cooler was fitted
 */
export function distinctMounts(runs: readonly Run[]): Mount[] {
  return Array.from(groupedBy(runs, mountKey).values(), (own) => {
    const { cooler, sample, source, mount } = own[0];
    return { cooler, sample, source, mount, runs: own };
  });
}

/**
 * Share of the variance between fittings that two runs of one sample on one source have in common: 1 within a fitting, 0
 * between two. Fittings that the file does not tell may be one or several: half is taken as common, so that the mean
 * of such runs is not thought too sharp nor their reading scatter too small.
 */
export function commonMountShare(a: Run, b: Run): number {
  if (a === b || mountKey(a) === mountKey(b)) return 1;
  return a.mount === undefined && b.mount === undefined ? 0.5 : 0;
}

/** How a condition names the mount of a run: `cooler/sample/mount`, parts that hold a slash, a comma or a quote in double quotes. */
export function mountName({ cooler, sample, mount }: Pick<Run, 'cooler' | 'sample' | 'mount'>): string {
  return nameOf([cooler, sample, mount ?? '']);
}

const nameOf = (parts: readonly string[]): string =>
  parts.map((part) => (/[/,"]/.test(part) ? `"${part.replaceAll('"', '""')}"` : part)).join('/');

/** Every name by which a condition may set a run aside: its id, its mount's, and that with the source. */
export function namesOf(run: Run): string[] {
  return [run.run, ...mountParts(run).map(nameOf)];
}

const mountParts = ({ cooler, sample, mount, source }: Run): string[][] =>
  mount === undefined
    ? []
    : [
        [cooler, sample, mount],
        [cooler, sample, mount, source],
      ];

/**
 * What a name may mean of this run: its id, its mount, or its mount on that one source; nothing where it means another. Quotes may be
 * left away, so a name can have several readings.
 */
export function readingsOf(run: Run, name: string): string[] {
  const parts = JSON.stringify(quotedParts(name));
  const mounts = mountParts(run).filter((one) => one.join('/') === name || JSON.stringify(one) === parts);
  return [...(run.run === name ? ['the run of that id'] : []), ...mounts.map(nameOf)];
}

/** Parts of a name that has some in quotes; `undefined` where it has none, or quotes that part nothing. */
function quotedParts(name: string): string[] | undefined {
  if (!name.includes('"') || !/^(?:"(?:[^"]|"")*"|[^"/]*)(?:\/(?:"(?:[^"]|"")*"|[^"/]*))*$/.test(name))
    return undefined;
  return [...name.matchAll(/(?:^|\/)(?:"((?:[^"]|"")*)"|([^"/]*))/g)].map(
    ([, quoted, bare]) => quoted?.replaceAll('""', '"') ?? bare,
  );
}

/** The cooler of that name, `undefined` when the bench has none. */
export function coolerByName(bench: Bench, name: string): Cooler | undefined {
  return bench.coolers.find((cooler) => cooler.cooler === name);
}
