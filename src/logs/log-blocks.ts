/**
 * A log in bounded memory: rows as they come, and once there are too many, means of neighbouring rows.
 *
 * A thermal response is fast just after a change of load and ever slower from then on, so rows may be averaged over
 * a span that grows with the time since the last change without losing what a sum of exponentials needs. Blocks
 * never straddle a change of load or of fan speed. Each block keeps its row count, its mean time and the variance of
 * its times; the mean of exp(−t/τ) over a block then follows to second order whatever the spacing of its rows.
 */
export interface LogBlocks {
  /** Number of blocks. */
  readonly count: number;
  /** Mean time, s, since the first row; resets of the clock taken out. */
  readonly time_s: Float64Array;
  /** Variance of the row times inside the block, s². */
  readonly timeVariance: Float64Array;
  /** Rows in the block. */
  readonly rows: Float64Array;
  readonly source_C: Float64Array;
  readonly ambient_C: Float64Array;
  readonly power_W: Float64Array;
  readonly fan_rpm: Float64Array;
  /** Means of the carried columns, by their names on the bench; NaN where a block has none. */
  readonly carried: readonly { readonly name: string; readonly values: Float64Array }[];
  /** Typical spacing of rows, s. */
  readonly interval_s: number;
  /** Smallest step between two unlike readings, K: the resolution with which the log was written. */
  readonly sourceStep_K: number;
  readonly ambientStep_K: number;
  /** Rows between two changes of the ambient reading, on average: a slow rounded reading stands still. */
  readonly ambientStill: number;
  readonly totalRows: number;
  readonly resets: number;
  readonly duplicates: number;
  /** Rows without a source reading. */
  readonly dropouts: number;
  /** Places (time_s) at which the spacing was more than ten times the typical one. */
  readonly gaps: number;
  /** Time of the first row by the file's own clock, s: its `time_s`, or seconds since a day that a date tells. */
  readonly begins_s: number;
  /** Of one of several files of a run: the required quantities that it has a column of. */
  readonly has?: readonly string[];
  /** Sentences about what was mended on the way in. */
  readonly notes: readonly string[];
}

/**
 * What counts as another load between two readings: more than 3 %, more than a few times what readings scatter by, and more than a supply's
 * last digit may wander.
 *
 * @param scatter_W  standard deviation of a reading, by {@link loadScatter}
 */
export function unlikeLoad(a_W: number, b_W: number, scatter_W: number): boolean {
  const apart = Math.abs(a_W - b_W);
  return apart > Math.max(0.3, 5 * scatter_W) && apart > 0.03 * Math.max(Math.abs(a_W), Math.abs(b_W));
}

const sampled = 200;

/** Standard deviation of a load reading, by the median of jumps between neighbours at places all over a log, W. */
export function loadScatter(power_W: Float64Array, count: number): number {
  const places = Math.min(sampled, count - 1);
  if (places < 3) return 0;
  const jumps = new Float64Array(places);
  for (let j = 0; j < places; j++) {
    const i = 1 + Math.floor((j * (count - 1)) / places);
    jumps[j] = Math.abs(power_W[i] - power_W[i - 1]);
  }
  return jumps.sort()[places >> 1] / 0.954;
}

/** What counts as another speed. */
export function unlikeSpeed(a_rpm: number, b_rpm: number): boolean {
  const apart = Math.abs(a_rpm - b_rpm);
  return apart > 60 && apart > 0.08 * Math.max(a_rpm, b_rpm);
}

const fixedColumns = 7;

/** The row of a log that was taken last. */
export interface LoggedRow {
  /** Number of rows so far. */
  readonly rows: number;
  /** By the log, and since its first row with resets of the clock taken out, s. */
  readonly own_s: number;
  readonly time_s: number;
  /** Readings, an empty cell having the one before; NaN where there was none yet. */
  readonly source_C: number;
  readonly ambient_C: number;
  readonly power_W: number;
  readonly fan_rpm: number;
  readonly pump_rpm?: number;
  /** Rows without a source reading so far. */
  readonly dropouts: number;
}

/**
 * Columns that logs scanned one after the other fill in turn: to have new ones for every log, and the old ones cleared
 * up, takes a tenth of the time of the scan.
 */
export class ColumnRoom {
  private columns: Float64Array[] = [];

  /** As many columns, each at least so long and holding anything; they are the ones given before, if those are enough. */
  take(count: number, length: number): Float64Array[] {
    const { columns } = this;
    if (columns.length < count || columns[0].length < length) this.columns = columnsOf(count, length);
    return this.columns;
  }
}

/** Collects rows into {@link LogBlocks}; `append` reads the slots of {@link requiredQuantities} in order. */
export class BlockStore {
  private readonly limit: number;
  private readonly carriedNames: readonly string[];
  private columns: Float64Array[];
  /** The columns one after the other, and how far one begins after another. */
  private all: Float64Array;
  private stride: number;
  private capacity: number;
  private readonly room: ColumnRoom;
  private count = 0;
  private clockOffset = 0;
  private lastRaw = Number.NaN;
  private lastTime = Number.NaN;
  private origin = Number.NaN;
  private lastStep = 0;
  private readonly steps = new Float64Array(64);
  private stepCount = 0;
  private readonly last: Float64Array;
  private sameTime = 1;
  private changes = 0;
  private totalRows = 0;
  private resets = 0;
  private duplicates = 0;
  private dropouts = 0;
  private gaps = 0;
  private sourceStep = Infinity;
  private ambientStep = Infinity;
  private spanShare = 0.02;

  /**
   * @param carriedNames  names of the columns at slots 5, 6, …
   * @param limit         greatest number of blocks kept
   * @param expected      rows to make room for at first
   * @param room          gives the columns, where they may be another log's afterwards
   */
  constructor(carriedNames: readonly string[], limit: number, expected: number, room = new ColumnRoom()) {
    this.limit = Math.max(256, limit);
    this.carriedNames = carriedNames;
    this.room = room;
    const wanted = Math.min(Math.max(64, expected), this.limit);
    this.columns = room.take(fixedColumns + carriedNames.length, wanted);
    this.stride = this.columns[0].length;
    this.all = new Float64Array(this.columns[0].buffer);
    this.capacity = Math.min(this.stride, this.limit);
    this.last = new Float64Array(5 + carriedNames.length).fill(Number.NaN);
  }

  /** Whether the carried columns are these. */
  carries(names: readonly string[]): boolean {
    return names.join() === this.carriedNames.join();
  }

  /** Another store with the same rows. */
  copy(): BlockStore {
    const { carriedNames, limit, capacity } = this;
    const columns = columnsOf(this.columns.length, this.stride);
    this.columns.forEach((column, i) => {
      columns[i].set(column);
    });
    const own = { columns, all: new Float64Array(columns[0].buffer), room: new ColumnRoom() };
    const kept = { last: this.last.slice(), steps: this.steps.slice() };
    return Object.assign(new BlockStore(carriedNames, limit, capacity), this, own, kept);
  }

  /** The row taken last; `undefined` before the first. */
  latest(): LoggedRow | undefined {
    if (this.totalRows === 0) return undefined;
    const [, source_C, ambient_C, power_W, fan_rpm] = this.last;
    const pump = this.carriedNames.indexOf('pump_rpm');
    return {
      rows: this.totalRows,
      own_s: this.lastRaw,
      time_s: this.lastTime,
      source_C,
      ambient_C,
      power_W,
      fan_rpm,
      ...(pump >= 0 && { pump_rpm: this.last[5 + pump] }),
      dropouts: this.dropouts,
    };
  }

  /** Takes a row: time, source, ambient, power, fan, carried…; NaN is an empty cell. */
  append(row: Float64Array): void {
    this.totalRows++;
    const { last } = this;
    const width = last.length;
    let sum = 0;
    for (let i = 1; i < width; i++) sum += row[i];
    if (Number.isNaN(sum) && !this.isFilled(row)) return;
    const raw = row[0];
    const source = row[1];
    // What a first row has before it is NaN, which is neither greater nor less nor equal.
    const isFirst = this.count === 0;
    this.origin = isFirst ? raw : this.origin;
    if (raw < this.lastRaw) {
      this.resets++;
      this.clockOffset += this.lastRaw - raw + (this.lastStep || 1);
    }
    const time = raw - this.origin + this.clockOffset;
    const ds = isFirst ? 0 : Math.abs(source - last[1]);
    if (ds > 1e-9 && ds < this.sourceStep) this.sourceStep = ds;
    const da = isFirst ? 0 : Math.abs(row[2] - last[2]);
    if (da > 1e-9) {
      this.changes++;
      if (da < this.ambientStep) this.ambientStep = da;
    }
    this.lastRaw = raw;
    for (let i = 1; i < width; i++) last[i] = row[i];
    if (time === this.lastTime && this.columns[2][this.count - 1] === 1) {
      this.repeat(row);
      return;
    }
    this.sameTime = 1;
    const step = time - this.lastTime;
    if (step > 10 * this.lastStep && this.lastStep > 0) this.gaps++;
    if (this.stepCount < this.steps.length && step >= 0) {
      this.keepStep(step);
      if ((this.stepCount & (this.stepCount - 1)) === 0) this.lastStep = this.typicalStep();
    }
    this.lastTime = time;
    if (this.count === this.capacity) this.makeRoom();
    const { all, stride } = this;
    const k = this.count++;
    all[k] = time;
    all[k + stride] = 0;
    all[k + 2 * stride] = 1;
    for (let i = 1; i < width; i++) all[k + (i + 2) * stride] = row[i];
  }

  /** Puts the readings before into the empty cells of a row; whether it then has all that a row needs. */
  private isFilled(row: Float64Array): boolean {
    const { last } = this;
    for (let i = 2; i < last.length; i++) if (Number.isNaN(row[i])) row[i] = last[i];
    if (!Number.isNaN(row[1] + row[2] + row[3] + row[4])) return true;
    this.dropouts++;
    for (let i = 2; i < last.length; i++) last[i] = row[i];
    return false;
  }

  /** Takes a row at the time of the one before into the mean of both. */
  private repeat(row: Float64Array): void {
    this.duplicates++;
    const k = this.count - 1;
    const share = 1 / ++this.sameTime;
    for (let i = 1; i < row.length; i++) {
      const column = this.columns[i + 2];
      column[k] += (row[i] - column[k]) * share;
    }
  }

  /** Puts a spacing of rows among those before, in order. */
  private keepStep(step: number): void {
    const { steps } = this;
    let i = this.stepCount++;
    for (; i > 0 && steps[i - 1] > step; i--) steps[i] = steps[i - 1];
    steps[i] = step;
  }

  private typicalStep(): number {
    return this.stepCount === 0 ? 1 : this.steps[this.stepCount >> 1];
  }

  /** Doubles the room for rows up to the limit, then halves the rows by joining neighbours. */
  private makeRoom(): void {
    if (this.capacity < this.limit) {
      this.capacity = Math.min(this.limit, this.capacity * 2);
      const wider = this.room.take(this.columns.length, this.capacity);
      this.columns.forEach((column, i) => {
        wider[i].set(column);
      });
      this.columns = wider;
      this.stride = wider[0].length;
      this.all = new Float64Array(wider[0].buffer);
      return;
    }
    const target = 0.6 * this.limit;
    for (let pass = 0; this.count > target; pass++) {
      this.averagePairs(this.spanShare, pass < 12);
      if (this.count > target) this.spanShare *= 1.5;
    }
  }

  /** Joins neighbours whose joint span is at most `share` of the time since the last change of load or speed. */
  private averagePairs(share: number, keepLoads: boolean): void {
    const c = this.columns;
    const [time, spread, rows] = c;
    const power = c[5];
    const fan = c[6];
    const n = this.count;
    const interval = this.lastStep || 1;
    const scatter = loadScatter(power, n);
    let change = time[0];
    let out = 0;
    let k = 0;
    while (k < n) {
      if (k > 0 && (unlikeLoad(power[k], power[k - 1], scatter) || unlikeSpeed(fan[k], fan[k - 1])))
        change = time[k];
      let join = false;
      if (k + 1 < n) {
        const like = !unlikeLoad(power[k], power[k + 1], scatter) && !unlikeSpeed(fan[k], fan[k + 1]);
        const span = time[k + 1] - time[k] + (interval * (rows[k] + rows[k + 1])) / 2;
        join = keepLoads ? like && span <= Math.max(2 * interval, share * (time[k] - change)) : true;
      }
      if (join) {
        const total = rows[k] + rows[k + 1];
        const second = rows[k + 1] / total;
        const apart = time[k + 1] - time[k];
        spread[out] =
          spread[k] * (1 - second) + spread[k + 1] * second + second * (1 - second) * apart * apart;
        for (let i = 0; i < c.length; i++) {
          if (i !== 1 && i !== 2) c[i][out] = c[i][k] + (c[i][k + 1] - c[i][k]) * second;
        }
        rows[out] = total;
        k += 2;
      } else {
        if (out !== k) for (let i = 0; i < c.length; i++) c[i][out] = c[i][k];
        k += 1;
      }
      out++;
    }
    this.count = out;
  }

  /** The blocks as columns, with what was mended on the way in words. */
  finish(notes: string[]): LogBlocks {
    const n = this.count;
    const c: Float64Array[] = [];
    for (let i = 0; i < fixedColumns + this.carriedNames.length; i++) c.push(this.columns[i].subarray(0, n));
    const said = [...notes];
    if (this.resets > 0)
      said.push(`the clock went back ${times(this.resets)}; the time was taken as running on`);
    if (this.duplicates > 0)
      said.push(
        this.duplicates === 1
          ? 'one row repeats the time of the row before; their mean was taken'
          : `${this.duplicates} rows repeat the time of the row before; their means were taken`,
      );
    if (this.dropouts > 0)
      said.push(
        this.dropouts === 1
          ? 'one row lacks a reading and was left out'
          : `${this.dropouts} rows lack a reading and were left out`,
      );
    return {
      count: n,
      time_s: c[0],
      timeVariance: c[1],
      rows: c[2],
      source_C: c[3],
      ambient_C: c[4],
      power_W: c[5],
      fan_rpm: c[6],
      carried: this.carriedNames.map((name, i) => ({ name, values: c[fixedColumns + i] })),
      interval_s: this.typicalStep(),
      sourceStep_K: Number.isFinite(this.sourceStep) ? this.sourceStep : 0,
      ambientStep_K: Number.isFinite(this.ambientStep) ? this.ambientStep : 0,
      ambientStill: this.totalRows / (this.changes + 1),
      totalRows: this.totalRows,
      resets: this.resets,
      duplicates: this.duplicates,
      dropouts: this.dropouts,
      gaps: this.gaps,
      begins_s: this.origin,
      notes: said,
    };
  }
}

function columnsOf(count: number, length: number): Float64Array[] {
  const all = new Float64Array(count * length);
  return Array.from({ length: count }, (_, i) => all.subarray(i * length, (i + 1) * length));
}

function times(n: number): string {
  return n === 1 ? 'once' : `${n} times`;
}
