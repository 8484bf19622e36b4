import { type LogBlocks, loadScatter, unlikeLoad, unlikeSpeed } from './log-blocks.ts';

/** A stretch of a log at one load and one fan speed: blocks `first` to before `end`. */
export interface LoadStep {
  readonly first: number;
  readonly end: number;
  /** Row-weighted means over the stretch. */
  readonly power_W: number;
  readonly fan_rpm: number;
  /** From the first to the last row, s. */
  readonly seconds: number;
  readonly rows: number;
}

/** A load counts as changed when it stays away for this long, a speed when it does so for longer (a speed signal
 * drops out now and then while the fan turns on) (an assumption). */
const loadHeld_s = 3;
const speedHeld_s = 10;
const heldRows = 3;
const memoryRows = 60;
/** What happened in a gap as long as this, and ten times as long as the one before, is not known: after it begins another stretch. */
const longGap_s = 300;

/**
 * Splits a log where load or fan speed changes and stays changed, and where nothing was logged for long.
 *
 * A reading is compared with the mean of the stretch so far, with a memory of a minute's worth of rows so that slow
 * drift is not a step. Readings that return at once are blips and belong to the stretch.
 */
export function findLoadSteps(blocks: LogBlocks): LoadStep[] {
  const { power_W, fan_rpm, time_s, rows, count, interval_s } = blocks;
  const starts: number[] = [];
  let level = Number.NaN;
  let speed = Number.NaN;
  let weight = 0;
  let awayFrom = -1;
  let awayRows = 0;
  let loadAway = false;
  const scatter = loadScatter(power_W, count);
  let lastGap = 0;
  for (let i = 0; i < count; i++) {
    const gap = i > 0 ? time_s[i] - time_s[i - 1] - interval_s * (rows[i] + rows[i - 1]) : 0;
    const isGap = gap > longGap_s && !(gap < 10 * lastGap);
    lastGap = i > 0 ? time_s[i] - time_s[i - 1] : 0;
    if (isGap) {
      starts.push(i);
      level = power_W[i];
      speed = fan_rpm[i];
      weight = rows[i];
      awayFrom = -1;
      continue;
    }
    if (starts.length === 0) {
      starts.push(0);
      level = power_W[0];
      speed = fan_rpm[0];
      weight = rows[0];
      continue;
    }
    const load = unlikeLoad(power_W[i], level, scatter);
    if (load || unlikeSpeed(fan_rpm[i], speed)) {
      if (awayFrom < 0) {
        awayFrom = i;
        awayRows = 0;
        loadAway = false;
      }
      loadAway ||= load;
      awayRows += rows[i];
      const held = time_s[i] - time_s[awayFrom] + interval_s;
      if (awayRows >= heldRows && held >= (loadAway ? loadHeld_s : speedHeld_s)) {
        starts.push(awayFrom);
        level = power_W[i];
        speed = fan_rpm[i];
        weight = rows[i];
        awayFrom = -1;
      }
    } else {
      awayFrom = -1;
      weight = Math.min(weight + rows[i], memoryRows);
      const share = Math.min(1, rows[i] / weight);
      level += (power_W[i] - level) * share;
      speed += (fan_rpm[i] - speed) * share;
    }
  }
  return starts.map((first, index) =>
    describe(blocks, first, index + 1 < starts.length ? starts[index + 1] : count),
  );
}

/** Means of a load step, rows weighed by how many readings they stand for. */
function describe(blocks: LogBlocks, first: number, end: number): LoadStep {
  let rows = 0;
  let power = 0;
  let fan = 0;
  for (let i = first; i < end; i++) {
    rows += blocks.rows[i];
    power += blocks.rows[i] * blocks.power_W[i];
    fan += blocks.rows[i] * blocks.fan_rpm[i];
  }
  const seconds = end > first ? blocks.time_s[end - 1] - blocks.time_s[first] : 0;
  return { first, end, power_W: power / rows, fan_rpm: fan / rows, seconds, rows };
}

/**
 * The stretches that are runs: long enough, and under load unless the whole log is without load (a zero-load run,
 * which shows the sensors' offset). Idling before the first load and cooling after the last are no runs.
 */
export function runsAmong(steps: readonly LoadStep[], shortest_s = 60, fewestRows = 12): LoadStep[] {
  const greatest = Math.max(0, ...steps.map((step) => step.power_W));
  const idle = idleBelow(greatest);
  const loaded = greatest > idle ? steps.filter((step) => step.power_W > idle) : steps;
  return loaded.filter((step) => step.seconds >= shortest_s && step.rows >= fewestRows);
}

/** Up to this a log of that greatest load is without load, W. */
export const idleBelow = (greatest_W: number): number =>
  Math.max(Math.min(1, 0.2 * greatest_W), 0.02 * greatest_W);
