/**
 * Logs of two mounts of one cooler, one of them with a fault: a ladder of block, base and fins stepped through in time, written apart from what
 * judges them. Resistances and heat capacities are invented within the widths below.
 */
import { normalFrom, seeded } from '../logs/make-logs.ts';

export const PARTING_KINDS = ['interface', 'airflow', 'leak', 'sensor'] as const;
export type PartingKind = (typeof PARTING_KINDS)[number];

interface Ladder {
  /** Block, base, fins, J/K, and the resistance from each to the next, K/W. */
  capacity: number[];
  resistance: number[];
  leak: number;
}

/** Two logs, the second of them of the mount at fault. */
export function logsThatPart(
  kind: PartingKind,
  seed: number,
  load_W?: number,
): { mate: string; odd: string } {
  const uniform = seeded(seed);
  const between = (low: number, high: number) => low + (high - low) * uniform();
  const well: Ladder = {
    capacity: [between(30, 90), between(60, 200), between(150, 500)],
    resistance: [between(0.03, 0.08), between(0.02, 0.06), between(0.1, 0.2)],
    leak: between(0.05, 0.2),
  };
  const power_W = load_W ?? between(100, 220);
  const [film, base, air] = well.resistance;
  const bad: Ladder = {
    ...well,
    resistance: [
      film + 0.003 * between(-1, 1) + (kind === 'interface' ? between(0.02, 0.06) : 0),
      base,
      air / (kind === 'airflow' ? between(0.5, 0.75) : 1),
    ],
    leak: well.leak + (kind === 'leak' ? between(0.2, 0.5) : 0),
  };
  const offset_K = kind === 'sensor' ? between(2.5, 6) * (uniform() < 0.5 ? -1 : 1) : 0;
  return {
    mate: logOf(well, power_W, 0, 2 * seed + 1),
    odd: logOf(bad, power_W * between(0.995, 1.005), offset_K, 2 * seed + 2),
  };
}

function logOf(
  { capacity, resistance, leak }: Ladder,
  power_W: number,
  offset_K: number,
  seed: number,
): string {
  const uniform = seeded(seed);
  const normal = normalFrom(uniform);
  const rise = [0, 0, 0];
  const lines = ['time_s,source_C,ambient_C,power_W,fan_rpm'];
  const dt = 0.05;
  const idle_s = 45 + Math.floor(30 * uniform());
  let sway = 0;
  for (let t = 0; t < 1500 + idle_s; t++) {
    // The sway of the air is felt in full once the fins have followed it, which is slower than here: it is noise on the way.
    sway = 0.99 * sway + 0.1 * Math.sqrt(1 - 0.99 ** 2) * normal();
    const load = t < idle_s ? 0 : power_W;
    const source = 22 + rise[0] + offset_K + 0.5 * sway + 0.03 * normal();
    const reading = [source.toFixed(2), (22 + sway).toFixed(2), load.toFixed(1)];
    lines.push(`${t},${reading.join(',')},1200`);
    for (let step = 0; step < 1 / dt; step++) {
      const flow = resistance.map((r, i) => (rise[i] - (rise[i + 1] ?? 0)) / r);
      rise[0] += (dt / capacity[0]) * (load - leak * rise[0] - flow[0]);
      rise[1] += (dt / capacity[1]) * (flow[0] - flow[1]);
      rise[2] += (dt / capacity[2]) * (flow[1] - flow[2]);
    }
  }
  return `${lines.join('\n')}\n`;
}
