import { mountName } from '../../bench/mounts.ts';
import type { Strange } from '../../screen/strange.ts';
import { wrap } from './text-width.ts';

/** Above an answer no more than this many are named. */
const MOST_NAMED = 3;

const CAUSE: Readonly<Record<string, string>> = {
  interface: 'a poor interface',
  airflow: 'too little air',
  leak: 'more leak from the source',
  sensor: 'a sensor off its place',
  'pipe-limit': 'pipes at their limit',
  typing: 'a typing error',
};

/** How a strange run or mount is named to `--without`. */
export function nameOfStrange({ run, cooler, sample = '', mount }: Strange): string {
  return run ?? mountName({ cooler, sample, mount });
}

/**
 * What is strange of a run or mount.
 *
 * @example strangeInWords({ run: 'a014', cooler: 'Fell Twin', power_W: 120, off_K: -20, u_K: 0.3, p: 1e-9, cause: 'typing' }) // 'Run a014 (Fell Twin, 120 W) reads 20 K low, probably a typing error'
 */
export function strangeInWords(strange: Strange): string {
  const { run, cooler, power_W, off_K, cause, mate } = strange;
  const which = run === undefined ? `Mount ${nameOfStrange(strange)} (` : `Run ${run} (${cooler}, `;
  const size = Math.abs(off_K);
  const off = `${size < 9.95 ? size.toFixed(1) : size.toFixed(0)} K ${off_K < 0 ? 'low' : 'high'}`;
  const why = CAUSE[cause ?? ''];
  if (mate !== undefined) {
    const apart = size < 9.95 ? size.toFixed(1) : size.toFixed(0);
    const than = off_K < 0 ? 'below' : 'above';
    return `Mount ${nameOfStrange(strange)} reads ${apart} K ${than} ${mate} at ${power_W.toFixed(0)} W, which is not the scatter of mounts; of the two it is the likelier one to be at fault${why ? `, probably ${why}` : ''}`;
  }
  return `${which}${power_W.toFixed(0)} W) reads ${off}${why ? `, probably ${why}` : ''}`;
}

/**
 * One line above an answer that stands on strange runs; empty where there is none.
 *
 * @example strangeLine([{ run: 'a014', cooler: 'Fell Twin', power_W: 120, off_K: -20, u_K: 0.3, p: 1e-9, cause: 'typing' }])
 */
export function strangeLine(strange: readonly Strange[]): string {
  if (strange.length === 0) return '';
  const named = strange.slice(0, MOST_NAMED).map(strangeInWords);
  const more = strange.length > MOST_NAMED ? [`${strange.length - MOST_NAMED} more (see screen)`] : [];
  const it = strange.length === 1 ? 'it' : 'them';
  const text = [...named, ...more].join('; ');
  return `${text}; the answers below include ${it}: --without ${strange.map(nameOfStrange).map(quoted).join(',')}`;
}

function quoted(name: string): string {
  return /[\s]/.test(name) ? `"${name}"` : name;
}

/** The same as lines of a terminal, with an empty line after it. */
export function strangeText(strange: readonly Strange[] | undefined, width: number): string {
  const line = strangeLine(strange ?? []);
  return line === '' ? '' : `${wrap(line, width).join('\n')}\n\n`;
}
