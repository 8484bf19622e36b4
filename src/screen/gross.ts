import type { Bench, Cooler, Run } from '../bench/bench.ts';
import { groupedBy } from '../bench/grouped.ts';
import { mountKey } from '../bench/mounts.ts';
import { isSame, isZeroLoad, riseOf } from '../bench/run.ts';
import { relativeSpeed } from '../fit/cooler-runs.ts';
import { median } from '../numerics/median.ts';

/** A run this far, as a factor, from what its cooler's other runs say is no cooler's doing (an assumption). */
const GROSS = 1.5;
/** Change of ln(resistance) with ln(speed) where the bench shows none (an assumption). */
const USUAL_SLOPE = -0.35;
/**
 * No fan turns this much faster than its greatest speed in coolers.csv. Chosen: beyond what fans of one
 * type differ by (common practice, no source).
 */
const FASTER = 1.25;
/** Whether a run's fan would turn faster than coolers.csv says it can. */
export function isTooFast({ fan_max_stated, fan_max_rpm }: Cooler, { fan_rpm }: Run): boolean {
  return fan_max_stated === true && fan_rpm > FASTER * fan_max_rpm;
}

/** Fewest runs of a cooler that can tell (an assumption). */
const FEWEST = 4;

/**
 * Single runs so far off that a fit with them would be of them: a load of 1201 W for 120.1 W, a source of 467 °C for 46.7 °C.
 *
 * Each run's resistance as read is held against the median of its cooler's other runs, carried over to its speed by the bench's median slope;
 * medians do not mind what a few runs say. Most of a mount gone is the mount's doing, and a limit of the pipes shows on every mount: neither is
 * here. What is here is only kept out of the first fit and then judged like any other run.
 */
export function grossRuns(bench: Bench, source: string): Run[] {
  const coolers = new Map(bench.coolers.map((cooler) => [cooler.cooler, cooler]));
  const points = bench.runs
    .filter((run) => run.source === source && !isZeroLoad(run))
    .flatMap((run) => {
      const cooler = coolers.get(run.cooler);
      const rise = Math.max(riseOf(run), 0.1);
      const speed = cooler ? Math.log(relativeSpeed(cooler, run.fan_rpm)) : 0;
      return [{ run, speed, resistance: Math.log(rise / run.power_W) }];
    });
  const byCooler = [...groupedBy(points, ({ run }) => run.cooler).values()];
  const slopes = byCooler.flatMap((own) =>
    own.flatMap((a, i) =>
      own
        .slice(0, i)
        .filter((b) => Math.abs(a.speed - b.speed) > 0.15 && isSame(a.run.power_W, b.run.power_W))
        .map((b) => (a.resistance - b.resistance) / (a.speed - b.speed)),
    ),
  );
  const slope = slopes.length > 0 ? median(slopes) : USUAL_SLOPE;
  return byCooler.flatMap((own) => {
    if (own.length < FEWEST) return [];
    const level = own.map((one) => one.resistance - slope * one.speed);
    const isOff = (i: number) => {
      const others = level.filter((_, j) => j !== i);
      if (Math.abs(level[i] - median(others)) < Math.log(GROSS)) return false;
      // What another mount shows at the same place is the cooler's.
      return !own.some(
        (other, j) =>
          mountKey(other.run) !== mountKey(own[i].run) &&
          isSame(other.run.power_W, own[i].run.power_W) &&
          Math.abs(level[j] - level[i]) < Math.log(GROSS) / 2,
      );
    };
    const cooler = coolers.get(own[0].run.cooler);
    const off = own
      .filter(({ run }, i) => (cooler && isTooFast(cooler, run)) || isOff(i))
      .map(({ run }) => run);
    return off.filter((run) => {
      const mates = own.filter((other) => mountKey(other.run) === mountKey(run)).length;
      const bad = off.filter((other) => mountKey(other) === mountKey(run)).length;
      return bad <= Math.max(1, mates / 3);
    });
  });
}
