/** Date and time of day as a table has them, in ISO 8601 without an offset unless one is written. */

const iso =
  /^(\d{4})-(\d{2})-(\d{2})(?:[T ]([01]\d|2[0-3]):([0-5]\d)(?::([0-5]\d)(?:[.,]\d+)?)?(?:Z|[+-]\d{2}(?::?\d{2})?)?)?$/;
const local =
  /^(\d{1,4})[./-](\d{1,2})[./-](\d{2}|\d{4})(?:,?[T ]+(\d{1,2})[:.h](\d{2})(?:[:.](\d{2}(?:[.,]\d+)?))?\s*([AaPp])?\.?[Mm]?\.?)?$/;

/** In which order a table writes day, month and year. */
export type DateOrder = 'day-month' | 'month-day';

/**
 * The order of day and month that the dates of a table have in common: a first number above 12 is a day, and so is a second.
 * Points between the numbers are written where the day comes first (common practice, no source).
 *
 * @returns `undefined`: both orders would do
 */
export function dateOrder(texts: Iterable<string>): DateOrder | undefined {
  for (const text of texts) {
    const parts = local.exec(text);
    if (!parts || parts[1].length === 4) continue;
    if (Number(parts[1]) > 12 || text.includes('.')) return 'day-month';
    if (Number(parts[2]) > 12) return 'month-day';
  }
  return undefined;
}

/**
 * A date, or a date and a time of day, in ISO 8601.
 *
 * @param order  how the table writes day and month; `undefined`: not known
 * @returns `undefined` where the text is no date, `'order'` where day and month cannot be told apart
 * @example isoDate('31.05.2024 14:05', 'day-month') // '2024-05-31T14:05:00'
 */
export function isoDate(text: string, order: DateOrder | undefined): string | 'order' | undefined {
  const written = iso.exec(text);
  if (written) return isDay(written[1], written[2], written[3]) ? text : undefined;
  const parts = local.exec(text);
  if (!parts) return undefined;
  const [, a, b, c, hour, minute, second, half] = parts;
  let [year, month, day] = [c, b, a];
  if (a.length === 4) [year, month, day] = [a, b, c];
  else if (order === 'month-day') [month, day] = [a, b];
  else if (order === undefined && a !== b) return 'order';
  if (year.length === 2) year = `20${year}`;
  if (!isDay(year, month, day)) return undefined;
  const date = [year, month.padStart(2, '0'), day.padStart(2, '0')].join('-');
  if (hour === undefined) return date;
  const hours = (Number(hour) % (half ? 12 : 24)) + (/p/i.test(half ?? '') ? 12 : 0);
  if (Number(hour) > 23 || Number(minute) > 59) return undefined;
  const seconds = (second ?? '00').replace(',', '.');
  return `${date}T${String(hours).padStart(2, '0')}:${minute}:${seconds}`;
}

function isDay(year: string, month: string, day: string): boolean {
  const date = new Date(Date.UTC(Number(year), Number(month) - 1, Number(day)));
  return date.getUTCMonth() + 1 === Number(month) && date.getUTCDate() === Number(day);
}
