import { nameOfStrange, strangeInWords } from '../answers/text/strange-line.ts';
import type { Conditions } from '../predict/conditions.ts';
import type { Strange } from '../screen/strange.ts';
import { escapeHtml, prose } from './page/escape.ts';

/** Runs and mounts that stand out, with what leaves them out, and those that are left out, with what puts them back; as HTML. */
export function strangeHtml(strange: readonly Strange[], { without = [] }: Conditions): string {
  const row = (words: string, what: string, name: string, button: string): string =>
    `<li>${prose(words)} <button type="button" data-${what}="${escapeHtml(name)}" aria-label="${escapeHtml(`${button}: ${name}`)}" disabled>${button}</button></li>`;
  const rows = [
    ...strange.map((one) => row(`${strangeInWords(one)}.`, 'without', nameOfStrange(one), 'leave out')),
    ...without.map((name) => row(`Left out: ${name}.`, 'back', name, 'put back')),
  ];
  return rows.length === 0
    ? ''
    : `<ul class="strange" id="strange" aria-label="Strange runs">${rows.join('')}</ul>`;
}
