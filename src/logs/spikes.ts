import type { LogBlocks } from './log-blocks.ts';

/** No heater moves a source this far within a row and back within the next; a loose thermocouple does. */
const spike_K = 8;

/**
 * A log without single readings that jump away from both neighbours and back; each is replaced by the mean of the two.
 *
 * @returns the log itself when it has none, else a copy with a note
 * For example 50.1, 850.0, 50.2 becomes 50.1, 50.15, 50.2
 */
export function withoutSpikes(log: LogBlocks): LogBlocks {
  const { source_C, rows, count } = log;
  const places: number[] = [];
  for (let i = 1; i + 1 < count; i++) {
    const up = source_C[i] - source_C[i - 1];
    if (Math.abs(up) < spike_K || rows[i] > 1) continue;
    const down = source_C[i] - source_C[i + 1];
    if (Math.abs(down) > spike_K && Math.sign(up) === Math.sign(down)) places.push(i);
  }
  if (places.length === 0) return log;
  const mended = source_C.slice();
  for (const i of places) mended[i] = 0.5 * (mended[i - 1] + source_C[i + 1]);
  const note = `${places.length === 1 ? 'one source reading jumps' : `${places.length} source readings jump`} more than ${spike_K} K away and back, first at ${Math.round(log.time_s[places[0]])} s; the readings beside it are used instead`;
  return { ...log, source_C: mended, notes: [...log.notes, note] };
}
