/** Small pieces of wording that every table and sentence shares, so that a load reads the same wherever it stands. */

export { counted } from '../../bench/wording.ts';

/** What stands behind a number beyond the loads (or speed, or source) run on its cooler. */
export const BEYOND_MARK = '*';
export const BEYOND_FOOTNOTE = `${BEYOND_MARK} beyond the loads, speeds or source run on this cooler: an extrapolation`;

/** What stands behind an estimate above the limit of the source, or at a load that its supply does not give. */
export const LIMIT_MARK = '!';
export const LIMIT_FOOTNOTE = `${LIMIT_MARK} above the limit of the source or what its supply gives: not to be run`;

/** A load without needless decimals. @example load(150) // '150 W' */
export function load(power_W: number): string {
  return `${plain(power_W)} W`;
}

/** A number to at most two decimals, without trailing zeros. */
export function plain(value: number): string {
  return String(Number(value.toFixed(2)));
}

/** A share as a percentage. @example percent(0.95) // '95 %' */
export function percent(share: number): string {
  return `${Number((share * 100).toFixed(2))} %`;
}

/** A probability for people: none is printed as certain. @example chance(0.9999) // 'over 99' */
export function chance(probability: number): string {
  if (!Number.isFinite(probability)) return 'not known';
  if (probability < 0.01) return 'under 1';
  if (probability > 0.99) return 'over 99';
  return String(Math.round(probability * 100));
}

/**
 * Names in a sentence.
 *
 * @param most  names written out before the rest is counted
 * @example listOf(['A', 'B', 'C']) // 'A, B and C'
 */
export function listOf(names: readonly string[], most = 5): string {
  if (names.length <= 1) return names[0] ?? '';
  if (names.length > most + 1) {
    return `${names.slice(0, most).join(', ')} and ${names.length - most} others`;
  }
  return `${names.slice(0, -1).join(', ')} and ${names[names.length - 1]}`;
}

/** A difference in kelvin for a sentence: one decimal, two below a tenth. @example kelvin(0.43) // '0.4 K' */
export function kelvin(difference_K: number): string {
  const size = Math.abs(difference_K);
  return `${size < 0.1 ? size.toFixed(2) : size.toFixed(1)} K`;
}

/** Numbers of a column with the mark where due; the others get a blank so that the digits stay in line. */
export function marked(texts: readonly string[], marks: readonly boolean[], mark = BEYOND_MARK): string[] {
  const any = marks.some(Boolean);
  return texts.map((text, i) => (marks[i] ? text + mark : any ? `${text} ` : text));
}

/** The line below a table that leaves rows out, if it does. @example moreLines(3, 'pairs') // ['  ... and 3 more pairs'] */
export function moreLines(left: number, what = ''): string[] {
  return left > 0 ? [`  ... and ${left} more${what && ` ${what}`}`] : [];
}

/**
 * Up to `most` of a list, spread evenly and with both ends, for a digest.
 *
 * @example spread([1, 2, 3, 4, 5], 3) // [1, 3, 5]
 */
export function spread<T>(list: readonly T[], most: number): T[] {
  if (list.length <= most) return [...list];
  return Array.from({ length: most }, (_, i) => list[Math.round((i * (list.length - 1)) / (most - 1))]);
}

/** Two ends of a range. @example fromTo(60, 180) // '60 to 180' */
export function fromTo(low: number, high: number): string {
  return low === high ? plain(low) : `${plain(low)} to ${plain(high)}`;
}

/** How many fittings the runs of a cooler name; runs that name none may be of any number. */
export function mountsNamed({
  mounts,
  runs_without_mount: unknown,
}: {
  mounts: number;
  runs_without_mount: number;
}): string {
  if (unknown === 0) return String(mounts);
  return mounts === unknown ? 'unknown' : `${mounts - unknown} + unknown`;
}

/** Hours and minutes on the bench after each run. */
export function clock(minutes: number): string {
  return `${Math.floor(minutes / 60)}:${String(Math.round(minutes % 60)).padStart(2, '0')}`;
}
