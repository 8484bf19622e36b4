import type { BenchTruth } from './bench-truth.ts';
import { makeRandom, type Random } from './random.ts';

/** Coolers of which the demo has logs, each in two fittings at two loads. */
const LOGGED = ['Siskin', 'Rowan', 'Merganser'];
const LOG_LOADS_W = [95, 165];
/** Seconds between rows, before the heater is switched on, and logged in all. */
const INTERVAL_s = 4;
const BEFORE_s = 40;
const LENGTH_s = 2400;

/** Half-width of a base and spacing of the depth gauge's points, mm. */
const HALF_mm = 20;
const STEP_mm = 5;

/** A dozen logs with their index: the block warms in half a minute, fins and loop in minutes. */
export function demoLogs(truth: BenchTruth, setpoint_C: number, seed: number): Map<string, string> {
  const files = new Map<string, string>();
  const index = ['run,cooler,sample,mount,source,session,log'];
  for (const cooler of LOGGED) {
    for (const mount of ['a', 'b']) {
      const draw = makeRandom(seed).split('logs').split(`${cooler}/${mount}`);
      const fitted = draw.normal(0, 0.0025);
      for (const power_W of LOG_LOADS_W) {
        const name = `${cooler.toLowerCase()}-${mount}-${power_W}`;
        const speed = truth.fan_max_rpm(cooler);
        const rise_K = truth.rise_K(cooler, power_W, speed) + fitted * power_W;
        const slow_s = cooler === 'Merganser' ? 520 : 170;
        files.set(
          `logs/${name}.csv`,
          logText({ rise_K, slow_s, power_W, speed, setpoint_C }, draw.split(name)),
        );
        index.push(`${name},${cooler},1,${mount},heater,may,${name}.csv`);
      }
    }
  }
  files.set('logs.csv', `${index.join('\n')}\n`);
  return files;
}

interface LogTruth {
  rise_K: number;
  slow_s: number;
  power_W: number;
  speed: number;
  setpoint_C: number;
}

function logText({ rise_K, slow_s, power_W, speed, setpoint_C }: LogTruth, draw: Random): string {
  const rows = ['time_s,source_C,ambient_C,power_W,fan_rpm'];
  let noise = 0;
  for (let t = 0; t <= LENGTH_s; t += INTERVAL_s) {
    const on = Math.max(t - BEFORE_s, 0);
    const rise = rise_K * (1 - 0.55 * Math.exp(-on / 28) - 0.45 * Math.exp(-on / slow_s));
    // A thermometer's reading wanders a little between one row and the next.
    noise = 0.5 * noise + draw.normal(0, 0.035);
    const air = setpoint_C + 0.08 * Math.sin(t / 410);
    rows.push(
      [
        t,
        (air + rise + noise).toFixed(2),
        (air + draw.normal(0, 0.02)).toFixed(2),
        t < BEFORE_s ? 0 : (power_W + draw.normal(0, 0.12)).toFixed(1),
        Math.round(speed + draw.normal(0, 4)),
      ].join(','),
    );
  }
  return `${rows.join('\n')}\n`;
}

/** Depth-gauge maps of two bases: one nearly flat, one bowed. */
export function demoSurfaces(): Map<string, string> {
  const map = (bow_um: number): string => {
    const rows = ['x_mm,y_mm,depth_um'];
    for (let y = -HALF_mm; y <= HALF_mm; y += STEP_mm)
      for (let x = -HALF_mm; x <= HALF_mm; x += STEP_mm)
        rows.push(`${x},${y},${((bow_um * (x * x + y * y)) / (2 * HALF_mm ** 2)).toFixed(1)}`);
    return `${rows.join('\n')}\n`;
  };
  return new Map([
    ['flatness/Siskin-1.csv', map(8)],
    ['flatness/Rowan-1.csv', map(40)],
  ]);
}

/** A published chart as a lab would record it. */
export const demoDecisions = `# What stands behind a published chart: what was left out of it, and what was corrected later.
charts:
  - chart: spring
    published: 2026-03-30
    excluded:
      - {name: Sallow/1/2, reason: paste had dried at the edge}
    corrections:
      - {date: 2026-04-02, what: fan speed of one run was mistyped}
`;

/** Idle, a sustained load, a peak, and rest. */
export const demoProfile = 'time_s,power_W\n0,20\n300,110\n900,190\n1000,60\n1800,60\n';

/** A table of another lab as its spreadsheet saves it, for \`import\`. */
export const demoSpreadsheet = `Vergleich im Hinterzimmer;;;;;;
Kühler;Montage Nr.;Datum;Leistung [W];Drehzahl [U/min];Blocktemperatur [°C];Raumtemperatur [°C]
Fieldfare;1;12.04.2026;75,0;1650;37,4;21,8
;;;140,0;1650;50,6;21,9
;2;13.04.2026;75,0;1650;37,7;22,0
;;;140,0;1650;51,3;22,1
Redwing;1;14.04.2026;75,0;1400;38,6;22,0
;;;140,0;1400;52,5;21,9
;2;15.04.2026;75,0;1400;38,3;21,8
;;;140,0;1400;52,1;22,0
Mittelwert;;;;;44,8;21,9
`;
