/** A stretch of equal readings has to last so long, in rows and s, before the noise that was there says that it is none of a live sensor (an assumption). */
const fewestRows = 40;
const shortest_s = 20;
/** What is foreseen to move by more than so much, and so many steps of the reading, has to move it. */
const moved_K = 0.5;
const movedSteps = 5;
const memoryRows = 60;

/**
 * Tells a sensor that stands still from a reading that is steady. Rounded readings of a quiet source stand still for long, so that
 * alone says nothing: it is strange only where the readings before scattered by more than half their step, or where the source should
 * have moved on.
 */
export class StuckSensor {
  private value = Number.NaN;
  private before = Number.NaN;
  private since_s = 0;
  private same = 0;
  private step_K = Number.POSITIVE_INFINITY;
  /** Variance of a reading's own noise by second differences, K². */
  private variance = 0;
  private foreseen: ((time_s: number) => number) | undefined;

  /**
   * Takes a reading.
   *
   * @param foreseen  where the source is to be at a time by what is known now, °C
   * @returns how long it has stood still, s, where that is no live sensor
   */
  take(time_s: number, value: number, foreseen?: (time_s: number) => number): number | undefined {
    if (value !== this.value) {
      const second = value - 2 * this.value + this.before;
      const change = Math.abs(value - this.value);
      if (change > 1e-9 && change < this.step_K) this.step_K = change;
      if (Number.isFinite(second)) {
        const keep = (1 - 1 / memoryRows) ** Math.max(1, this.same);
        this.variance = keep * this.variance + (second * second) / 6 / memoryRows;
      }
      this.before = this.value;
      this.value = value;
      this.since_s = time_s;
      this.same = 1;
      this.foreseen = foreseen;
      return undefined;
    }
    this.same++;
    this.before = value;
    const lasts_s = time_s - this.since_s;
    const isNoisy = Math.sqrt(this.variance) > 0.5 * this.step_K;
    if (isNoisy && this.same >= fewestRows && lasts_s >= shortest_s) return lasts_s;
    if (!this.foreseen || this.same < 10 || lasts_s < shortest_s) return undefined;
    const step_K = Number.isFinite(this.step_K) ? this.step_K : 0;
    const moves_K = Math.abs(this.foreseen(time_s) - this.foreseen(this.since_s));
    return moves_K > Math.max(moved_K, movedSteps * step_K) ? lasts_s : undefined;
  }
}
