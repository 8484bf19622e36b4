/** Wording of messages about input: no reader is needed to say what is wrong. */

/** A cell as it is shown in a message: quoted, on one line, not endless. */
export function shown(text: string): string {
  const oneLine = text.replace(/\p{C}/gu, '·');
  const characters = [...oneLine];
  return `"${characters.length > 40 ? `${characters.slice(0, 39).join('')}…` : oneLine}"`;
}

/** A number of things. @example counted(1, 'run') // '1 run' */
export function counted(count: number, what: string): string {
  return `${count} ${what}${count === 1 ? '' : 's'}`;
}

/** "a, b or c" */
export function listed(items: readonly string[], last = 'or'): string {
  return items.length < 2
    ? items.join('')
    : `${items.slice(0, -1).join(', ')} ${last} ${items[items.length - 1]}`;
}
