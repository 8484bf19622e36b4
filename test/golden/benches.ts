import { readdirSync, readFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { posteriorOf } from '../../src/fit/posterior-of.ts';
import {
  type Bench,
  compare,
  fit as fitOf,
  flatness,
  plan,
  predict,
  readBench,
  readProfile,
  reduce,
  rehearse,
  screen,
  sessions,
  simulate,
} from '../../src/index.ts';
import { Answers } from '../../src/report/answers.ts';
import { pageData } from '../../src/report/page-data.ts';

const FIXTURES = fileURLToPath(new URL('fixtures/', import.meta.url));

/** The files of a bench of `fixtures`: all were made by the virtual lab once, and stay as they are when the lab changes. */
export function readFixture(name: string): Map<string, Uint8Array> {
  const folder = join(FIXTURES, name);
  return new Map(
    readdirSync(folder, { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map((entry) => join(entry.parentPath, entry.name))
      .sort()
      .map((path) => [relative(folder, path).replaceAll('\\', '/'), new Uint8Array(readFileSync(path))]),
  );
}

const STEPS = 'time_s,power_W,fan_rpm\n0,80,1200\n120,150,1200\n300,0,1200\n';

type Questions = Record<string, (bench: Bench, files: Map<string, Uint8Array>) => unknown>;

/** What each bench is asked; the answer is what the command of that name prints with `--json`. */
const QUESTIONS: Record<string, Questions> = {
  demo: {
    fit: (bench) => fitOf(bench),
    predict: (bench) => predict(bench, { power_W: [100, 220, 400] }),
    'predict at a sound level': (bench) => predict(bench, { power_W: [150], sound_dBA: 36 }),
    'predict in other air': (bench) =>
      predict(bench, { power_W: [150], altitude_m: 1800, fan_percent: 65, recirculation_percent: 10 }),
    'compare over loads': (bench) => compare(bench, { power_W: [50, 150, 250, 350] }),
    'compare at a sound level': (bench) => compare(bench, { power_W: [100, 180, 260], sound_dBA: 36 }),
    'compare at one load': (bench) => compare(bench, { power_W: [200] }),
    plan: (bench) => plan(bench, { target_W: 250, hours: 5 }),
    'plan for predictions': (bench) => plan(bench, { target_W: [150, 300], hours: 3, goal: 'prediction' }),
    rehearse: (bench) =>
      rehearse(bench, {
        power_W: [250],
        repeats: 40,
        runs: [
          { cooler: 'Siskin', power_W: 250, remount: true },
          { cooler: 'Hornbeam', power_W: 250, remount: true },
          { cooler: 'Hornbeam', power_W: 210 },
        ],
      }),
    screen: (bench) => screen(bench),
    flatness: (bench) => flatness(bench, { power_W: [200] }),
    page: pageAnswers,
  },
  chips: {
    fit: (bench) => fitOf(bench, { source: 'chip-a' }),
    predict: (bench) => predict(bench, { source: 'chip-a', power_W: [60, 140, 190] }),
    'predict on the heater': (bench) => predict(bench, { power_W: [90, 240] }),
    'predict on a chip of few runs': (bench) => predict(bench, { source: 'chip-b', power_W: [90] }),
    'compare over loads': (bench) => compare(bench, { source: 'chip-a', power_W: [60, 120, 180] }),
    'compare at a sound level': (bench) =>
      compare(bench, { source: 'chip-a', power_W: [120], sound_dBA: 36 }),
    'compare at one load': (bench) => compare(bench, { source: 'chip-b', power_W: [110] }),
    plan: (bench) => plan(bench, { source: 'chip-a', target_W: 150, hours: 4 }),
    rehearse: (bench) =>
      rehearse(bench, {
        source: 'chip-a',
        power_W: [150],
        repeats: 40,
        runs: [
          { cooler: 'cooler-5', power_W: 150, remount: true },
          { cooler: 'cooler-6', power_W: 150, remount: true },
        ],
      }),
    screen: (bench) => screen(bench),
    'screen a chip': (bench) => screen(bench, { source: 'chip-a' }),
  },
  liquid: {
    fit: (bench) => fitOf(bench),
    predict: (bench) => predict(bench, { power_W: [120, 320], fan_percent: 80 }),
    'compare over loads': (bench) => compare(bench, { power_W: [100, 200, 300] }),
    'compare at a sound level': (bench) => compare(bench, { power_W: [200], sound_dBA: 38 }),
    'compare at one load': (bench) => compare(bench, { power_W: [200] }),
    plan: (bench) => plan(bench, { target_W: 280, hours: 4 }),
    screen: (bench) => screen(bench),
    sessions: (bench) => sessions(bench),
  },
  sessions: {
    fit: (bench) => fitOf(bench),
    predict: (bench) => predict(bench, { power_W: [100, 240] }),
    'compare over loads': (bench) => compare(bench, { power_W: [80, 160, 240] }),
    'compare at one load': (bench) => compare(bench, { power_W: [160] }),
    plan: (bench) => plan(bench, { target_W: 200, hours: 4 }),
    screen: (bench) => screen(bench),
    flatness: (bench) => flatness(bench, { power_W: [150] }),
    sessions: (bench, files) => sessions(bench, { files }),
    'sessions by Shewhart': (bench) => sessions(bench, { form: 'Shewhart', cooler: 'cooler-1' }),
  },
  logs: {
    reduce: (bench) => reduce(bench),
    fit: (bench) => fitOf(bench),
    'compare over loads': (bench) => compare(bench, { power_W: [80, 160, 240] }),
    simulate: (bench) =>
      simulate(bench, {
        cooler: 'Heron',
        profile: readProfile('steps.csv', new TextEncoder().encode(STEPS)),
        interval_s: 60,
      }),
  },
};

export const BENCHES: readonly string[] = Object.keys(QUESTIONS);

/** What the page shows of a bench, at two settings of its controls. */
function pageAnswers(bench: Bench): unknown {
  const posterior = posteriorOf(bench, 'heater');
  const more = { version: '', hashes: [], sections: '', control: null };
  const answers = new Answers(pageData(bench, [posterior], { power_W: [220] }, more));
  const few = { coolers: ['Siskin', 'Rowan', 'Merganser'] };
  return {
    sources: answers.sources,
    span: answers.span({}),
    soundRange: answers.soundRange(),
    at: answers.at({ fan_percent: 70 }, 220).loads,
    order: answers
      .overLoads(few)
      .pairs.map(({ a, b, crossings, resolved }) => ({ a, b, crossings, resolved })),
    curves: answers.curvesWithRuns(few).map(({ cooler, place, points }) => ({
      cooler,
      place,
      at: points.filter((_, i) => i % 5 === 0),
    })),
    soundCurves: answers.soundCurves(few, 180),
    residuals: answers.residuals({}).map(({ run, residual_K }) => [run, residual_K]),
    freshScatter: answers.freshScatter({}, 200),
  };
}

/** Every answer of a bench, by question, as JSON holds it. */
export function answersOf(name: string): Record<string, unknown> {
  const files = readFixture(name);
  return Object.fromEntries(
    Object.entries(QUESTIONS[name]).map(([question, ask]) => [
      question,
      // Each question finds a bench that nothing else was asked of.
      JSON.parse(JSON.stringify(ask(readBench(files), files))),
    ]),
  );
}
