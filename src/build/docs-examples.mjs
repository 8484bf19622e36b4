/**
 * What the worked examples of the command pages need beside the demo bench. A command that is not here is shown with the
 * example of its own help.
 */

export const examples = {
  init: { line: 'heatladder init demo-bench' },
  reduce: { files: ['logs'], on: 'On a bench of two logs of half an hour each, at 120 W' },
  rehearse: {
    before: ['heatladder plan demo-bench --target 200 --hours 4 -o plan.csv'],
    line: 'heatladder rehearse demo-bench --runs plan.csv --repeats 50',
  },
  sessions: {
    files: ['months'],
    on: 'On a bench of six sessions, its reference cooler fitted twice in each',
    line: 'heatladder sessions demo-months',
  },
  simulate: {
    files: ['logs', 'profile'],
    on: 'On a bench of two logs of half an hour each, at 120 W, with a load profile',
  },
  flatness: {
    files: ['maps'],
    on: 'On the demo bench (`heatladder init demo-bench`), with depth-gauge maps of two bases put into its folder `flatness`',
  },
};

const kinds = { logs, maps, months, profile };

/** Path → text of the files that the named kinds stand for. */
export function filesFor(names) {
  return new Map(names.flatMap((name) => kinds[name]()));
}

/** Two bases of 40 mm: one bowed by 40 µm, one nearly flat. */
function maps() {
  const map = (bow_um) => {
    const rows = [];
    for (let y = -20; y <= 20; y += 5) {
      for (let x = -20; x <= 20; x += 5)
        rows.push(`${x},${y},${((bow_um * (x * x + y * y)) / 800).toFixed(1)}`);
    }
    return `x_mm,y_mm,depth_um\n${rows.join('\n')}\n`;
  };
  return [
    ['demo-bench/flatness/Siskin-1.csv', map(8)],
    ['demo-bench/flatness/Rowan-1.csv', map(40)],
  ];
}

/** Repeatable scatter between −1 and 1. */
function scatterFrom(seed) {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2147483648 - 1;
  };
}

/** Half an hour at 120 W of two coolers: the block's time constant, then the fins'. */
function logs() {
  const log = (seed, rise_K, slow_s, fan_rpm) => {
    const scatter = scatterFrom(seed);
    const rows = [];
    for (let t = -20; t <= 1800; t += 2) {
      const on = Math.max(0, t);
      const rise = rise_K * (1 - 0.55 * Math.exp(-on / 35) - 0.45 * Math.exp(-on / slow_s));
      const ambient = 22 + 0.05 * scatter();
      rows.push(
        [
          t + 20,
          (22 + rise + 0.08 * scatter()).toFixed(2),
          ambient.toFixed(2),
          t < 0 ? 0 : (120 + 0.2 * scatter()).toFixed(2),
          fan_rpm,
        ].join(','),
      );
    }
    return `time_s,source_C,ambient_C,power_W,fan_rpm\n${rows.join('\n')}\n`;
  };
  return [
    ['demo-logs/bench.yaml', 'name: Two logs (invented)\nambient: { setpoint_C: 22, tolerance_K: 1 }\n'],
    [
      'demo-logs/logs.csv',
      'run,cooler,sample,mount,source,log\nlog-1,Heron,1,1,heater,heron-1.csv\nlog-2,Rowan,1,1,heater,rowan-1.csv\n',
    ],
    ['demo-logs/logs/heron-1.csv', log(1, 21.3, 260, 1900)],
    ['demo-logs/logs/rowan-1.csv', log(2, 22.5, 310, 1750)],
  ];
}

/** Idle, a sustained load, a peak, and rest. */
function profile() {
  return [['steps.csv', 'time_s,power_W\n0,20\n300,120\n900,180\n1000,60\n1800,60\n']];
}

/** Six sessions of two fittings of the reference cooler, and a cooler of its own in each; the sensor shifts before the last. */
function months() {
  const scatter = scatterFrom(3);
  const rows = [];
  for (let session = 1; session <= 6; session++) {
    for (const [cooler, K_per_W] of [
      ['Sedge', 0.19],
      [`Newcomer ${session}`, 0.17 + 0.01 * session],
    ]) {
      for (const mount of [1, 2]) {
        const fitted = K_per_W + 0.003 * scatter();
        for (const load of [60, 120, 180]) {
          const rise = fitted * load + 0.1 * scatter() + (session === 6 ? 1.2 : 0);
          rows.push(
            `${cooler},1,${session}.${mount},2025-0${session},2025-0${session}-12,${load},1500,${(22 + rise).toFixed(1)},22.0`,
          );
        }
      }
    }
  }
  return [
    ['demo-months/bench.yaml', 'name: Six sessions (invented)\nreference_cooler: Sedge\n'],
    [
      'demo-months/runs.csv',
      `cooler,sample,mount,session,started,power_W,fan_rpm,source_C,ambient_C\n${rows.join('\n')}\n`,
    ],
  ];
}
