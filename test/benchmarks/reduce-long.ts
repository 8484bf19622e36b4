/** Scans and reduces a log of 1 GB that is made chunk by chunk and never held; prints JSON with the greatest memory. */
import { createLogScanner } from '../../src/logs/log-scanner.ts';
import { reduceLog } from '../../src/logs/reduce-log.ts';

const bytes = Number(process.argv[2] ?? 1e9);
const interval = Number(process.argv[3] ?? 0.01);
const encoder = new TextEncoder();
const start = performance.now();
const scanner = createLogScanner('long.csv');
scanner.push(encoder.encode('time_s,source_C,ambient_C,power_W,fan_rpm\n'));
let sent = 0;
let row = 0;
let seed = 1;
const noise = () => {
  seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
  return seed / 4294967296 - 0.5;
};
while (sent < bytes) {
  let text = '';
  for (let i = 0; i < 20000; i++, row++) {
    const t = row * interval;
    const rise = 40 - 15 * Math.exp(-t / 10) - 25 * Math.exp(-t / 150);
    text += `${t.toFixed(2)},${(22 + rise + 0.2 * noise()).toFixed(2)},22.00,${(200 + noise()).toFixed(2)},1200\n`;
  }
  const chunk = encoder.encode(text);
  sent += chunk.length;
  scanner.push(chunk);
}
const log = scanner.finish();
const [run] = reduceLog(log, { setpoint_C: 22, tolerance_K: 1 });
console.log(
  JSON.stringify({
    bytes: sent,
    rows: log.totalRows,
    blocks: log.count,
    seconds: (performance.now() - start) / 1000,
    rise_K: run.rise_K,
    u_K: run.u_K,
    time_constants_s: run.time_constants_s,
    memory_MB: process.resourceUsage().maxRSS / 1024,
  }),
);
