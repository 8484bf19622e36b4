import { groupedBy } from '../../bench/grouped.ts';
import { mountName } from '../../bench/mounts.ts';
import type { MountVerdict } from '../../screen/screen-posterior.ts';
import { table } from './table.ts';
import { fixed } from './uncertainty.ts';

/** Characters of a strip, odd so that zero has one of its own. */
const STRIP = 31;
/** The band of the bench's scatter is drawn this many standard deviations either way. */
const BAND = 2;
/** A mount that is further out than this many bands is drawn at the edge, so that the others do not shrink to a point. */
const MOST_BANDS = 4;

/**
 * One mount on a strip: the mark its resistance less its cooler's own, `-` two standard uncertainties either way, `( )` the scatter of mounts,
 * `|` zero, `<` and `>` a mount beyond the edge.
 *
 * @param edge  value at either end, in the unit of the others
 * @example strip(4, 1, 3, 10, 21) // '    (     | --o--'
 */
export function strip(
  off: number,
  u: number,
  scatter: number,
  edge: number,
  width = STRIP,
  mark = 'o',
): string {
  const middle = (width - 1) / 2;
  const at = (value: number) => middle + Math.round((value / edge) * middle);
  const cells = new Array<string>(width).fill(' ');
  const put = (k: number, mark: string) => {
    if (k >= 0 && k < width) cells[k] = mark;
  };
  put(at(-BAND * scatter), '(');
  put(at(BAND * scatter), ')');
  put(middle, '|');
  for (let k = at(off - 2 * u); k <= at(off + 2 * u); k++) put(k, '-');
  if (Math.abs(off) > edge) cells[off < 0 ? 0 : width - 1] = off < 0 ? '<' : '>';
  else put(at(off), mark);
  return cells.join('').trimEnd();
}

/** Each cooler's mounts side by side, strange or not, in mK/W; empty where no cooler has two. */
export function sideBySide(mounts: readonly MountVerdict[], width: number): string {
  const beside = mounts.flatMap(({ off_K_per_W, u_K_per_W, ...one }) =>
    off_K_per_W === null || u_K_per_W === null ? [] : [{ ...one, off_K_per_W, u_K_per_W }],
  );
  if (beside.length === 0) return '';
  const most = Math.max(...beside.map((one) => Math.abs(one.off_K_per_W) + 2 * one.u_K_per_W));
  const band = BAND * Math.max(...beside.map((one) => one.scatter_K_per_W));
  const edge = Math.max(1.25 * band, Math.min(most, MOST_BANDS * band));
  const isOneSource = new Set(beside.map(({ source }) => source)).size === 1;
  const ordered = [...groupedBy(beside, ({ cooler, source }) => JSON.stringify([cooler, source])).values()];
  return table(
    [
      { title: 'mount', align: 'left' },
      { title: 'off', unit: 'mK/W', align: 'right' },
      { title: '±', align: 'right' },
      { title: `${fixed(-1000 * edge, 0)} to ${fixed(1000 * edge, 0)} mK/W`, align: 'left' },
    ],
    ordered
      .flat()
      .map((one) => [
        isOneSource ? mountName(one) : `${mountName(one)} on ${one.source}`,
        fixed(1000 * one.off_K_per_W, 1),
        fixed(1000 * one.u_K_per_W, 1),
        strip(
          one.off_K_per_W,
          one.u_K_per_W,
          one.scatter_K_per_W,
          edge,
          STRIP,
          one.verdict === 'ok' ? 'o' : 'X',
        ),
      ]),
    { width },
  );
}
