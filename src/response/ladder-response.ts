import { type CauerElement, type LadderModes, ladderModes } from './cauer.ts';

/** A stretch during which load and ladder stay the same. */
export interface LadderSegment {
  readonly from_s: number;
  readonly power_W: number;
  readonly rungs: readonly CauerElement[];
}

/**
 * Rise of the source through stretches of unlike load and unlike ladder, K, exact within each stretch.
 *
 * Node temperatures are what carries over when a resistance changes: a fan that speeds up does not move heat in no
 * time. Within a stretch the nodes are resolved into the ladder's modes, each of which decays on its own. The
 * capacities must be the same throughout, as heat would appear or vanish otherwise.
 *
 * @param segments  ascending in time; the first begins at rest
 * @param times_s   ascending, none before the first segment
 * @throws RangeError when ladders have different capacities
 */
export function ladderResponse(segments: readonly LadderSegment[], times_s: readonly number[]): number[] {
  const first = segments[0];
  const n = first.rungs.length;
  const nodes = new Float64Array(n);
  const out: number[] = [];
  let next = 0;
  let known: { rungs: readonly CauerElement[]; modes: LadderModes } | undefined;
  segments.forEach((segment, index) => {
    if (
      segment.rungs.some((rung, k) => rung.capacity_J_per_K !== first.rungs[k]?.capacity_J_per_K) ||
      segment.rungs.length !== n
    ) {
      throw new RangeError('the capacities of a ladder may not change during a response');
    }
    if (known?.rungs !== segment.rungs) known = { rungs: segment.rungs, modes: ladderModes(segment.rungs) };
    const { rates, shapes, rootCapacities } = known.modes;
    const end = index + 1 < segments.length ? segments[index + 1].from_s : Infinity;
    const start = new Float64Array(n);
    const steady = new Float64Array(n);
    for (let m = 0; m < n; m++) {
      for (let k = 0; k < n; k++) start[m] += shapes[m][k] * rootCapacities[k] * nodes[k];
      steady[m] = (shapes[m][0] * segment.power_W) / (rootCapacities[0] * rates[m]);
    }
    const modeAt = (m: number, h: number) => start[m] - (steady[m] - start[m]) * Math.expm1(-rates[m] * h);
    for (; next < times_s.length && times_s[next] < end; next++) {
      let rise = 0;
      for (let m = 0; m < n; m++)
        rise += (shapes[m][0] * modeAt(m, times_s[next] - segment.from_s)) / rootCapacities[0];
      out.push(rise);
    }
    if (end === Infinity) return;
    nodes.fill(0);
    for (let m = 0; m < n; m++) {
      const mode = modeAt(m, end - segment.from_s);
      for (let k = 0; k < n; k++) nodes[k] += (shapes[m][k] * mode) / rootCapacities[k];
    }
  });
  return out;
}
