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

/** Whether a day exists. */
function isDay(year: string, month: string, day: string): boolean {
  const date = new Date(Date.UTC(Number(year), Number(month) - 1, Number(day)));
  return date.getUTCMonth() + 1 === Number(month) && date.getUTCDate() === Number(day);
}

/** Whether a text begins as a time of day or a date does. */
export function isClock(text: string): boolean {
  return /^\d{1,4}(:\d{2}|[./-]\d{1,2}[./-]\d)/.test(text);
}

const timeOfDay = /^(\d{1,3}):(\d{2}):(\d{2}(?:[.,]\d+)?)\s*([AaPp])?\.?[Mm]?\.?$/;
/** Seconds. */
const DAY_s = 86_400;
const HOUR_s = 3600;

/**
 * Times of a log as seconds after its first row: ISO 8601, hh:mm:ss, or a date and time as a spreadsheet writes it.
 *
 * Times of day go on over midnight. Where a date might have its day or its month first, the order is taken that makes the
 * step to the next date the smaller; until the date changes it does not matter. A clock set back by an hour, as at the end
 * of summer time, is followed; one set forward leaves a gap of an hour.
 *
 * @example
 * const clock = new LogClock();
 * [clock.seconds('23:59:59'), clock.seconds('00:00:01')] // [0, 2]
 */
export class LogClock {
  readonly notes = new Set<string>();
  private first: number | undefined;
  private last = 0;
  private added = 0;
  private date: string | undefined;
  private order: DateOrder | undefined;

  /** The first time, s since a day that is the same for all dates; of a time of day, since midnight. */
  get begins_s(): number {
    return this.first ?? Number.NaN;
  }

  /** @returns `undefined` where the text is no time */
  seconds(text: string): number | undefined {
    const time = this.absolute(text);
    if (time === undefined) return undefined;
    if (this.first === undefined) [this.first, this.last] = [time, time];
    let step = time + this.added - this.last;
    if (step < -DAY_s / 2 && timeOfDay.test(text)) {
      this.added += DAY_s;
      step += DAY_s;
      this.notes.add('times of day go on over midnight');
    } else if (step < 0 && step > -1.05 * HOUR_s && step < -0.9 * HOUR_s) {
      this.added += HOUR_s;
      step += HOUR_s;
      this.notes.add('the clock goes back by an hour: taken as the end of summer time');
    }
    this.last += step;
    return this.last - this.first;
  }

  /** A text as seconds on one clock: a time of day, or a date and time; `undefined`: neither. */
  private absolute(text: string): number | undefined {
    const day = timeOfDay.exec(text);
    if (day) {
      const [, hour, minute, second, half] = day;
      const hours = half ? (Number(hour) % 12) + (/p/i.test(half) ? 12 : 0) : Number(hour);
      return Number(minute) > 59
        ? undefined
        : hours * HOUR_s + Number(minute) * 60 + Number(second.replace(',', '.'));
    }
    const date = text.split(/[T ,]/)[0];
    const first = this.date ?? date;
    this.date = first;
    if (this.order === undefined) {
      this.order = dateOrder([text]) ?? (date === first ? undefined : this.nearer(first, text));
      // Times before were counted from the first date with its day first.
      if (this.order === 'month-day' && date !== first)
        this.added +=
          secondsOf(isoDate(first, 'day-month') ?? '') - secondsOf(isoDate(first, 'month-day') ?? '');
    }
    const iso = isoDate(text, this.order ?? 'day-month');
    return iso === undefined || iso === 'order' ? undefined : secondsOf(iso);
  }

  /** The order that makes the step from the first date to another the smaller. */
  private nearer(first: string, text: string): DateOrder {
    const step = (order: DateOrder): number => {
      const [from, to] = [isoDate(first, order), isoDate(text, order)];
      const seconds = from && to ? secondsOf(to) - secondsOf(from) : -1;
      return seconds < 0 ? Number.POSITIVE_INFINITY : seconds;
    };
    return step('month-day') < step('day-month') ? 'month-day' : 'day-month';
  }
}

/** Seconds since 1970 of an ISO date and time, its offset taken into account. */
function secondsOf(iso: string): number {
  const [date, time = '00:00'] = iso.split(/[T ]/);
  const offset = /(Z|[+-]\d{2}(?::?\d{2})?)$/.exec(time)?.[0] ?? '';
  const [hour, minute, second = '0'] = time
    .slice(0, time.length - offset.length)
    .replace(',', '.')
    .split(':');
  const parts = /^([+-])(\d{2}):?(\d{2})?$/.exec(offset);
  const east = parts ? (parts[1] === '-' ? -1 : 1) * (Number(parts[2]) * 60 + Number(parts[3] ?? 0)) * 60 : 0;
  return (
    Date.parse(`${date}T00:00:00Z`) / 1000 +
    Number(hour) * HOUR_s +
    Number(minute) * 60 +
    Number(second) -
    east
  );
}
