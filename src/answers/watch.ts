import { knownSource } from '../bench/source.ts';
import { readPlan } from '../design/plan-table.ts';
import { type LogWatch, type WatchState, watchLog } from '../logs/watch-log.ts';
import type { Command, Growth, Invocation, Output, Stopping, WatchedLog } from './options/command.ts';
import { fault, numberGiven } from './options/conditions.ts';
import { jsonText } from './text/json.ts';
import { namesAsText } from './text/terminal-text.ts';
import { WATCH_SAFETY, WatchLines } from './text/watch-lines.ts';

const EVERY_S = 60;
/** Without a new row for so long a pause is said, ms. */
const PAUSE_MS = 15_000;

export const command: Command = {
  name: 'watch',
  operand: 'bench',
  about: `Follows a log while a run is on: the rise now, where it is going, when it is
known well enough to stop, whether the source will pass its limit, and what is
wrong. Noise and air are learnt from the bench's other logs. Nothing is written.
It is no safety device: the cut-out on the heater must not depend on it.`,
  example: 'heatladder watch demo-bench --log siskin-a-165.csv --replay 500',
  options: () => ({
    log: {
      value: 'FILE',
      describe: `the log being written, or a name in logs/; - for standard input; 'a.csv + b.csv' for two loggers of one run`,
    },
    shift: {
      value: 'S',
      describe: 'seconds to add to the times of the second logger (default: found from the logs)',
    },
    within: {
      value: 'K',
      describe: 'a run may stop once its rise is known within this, at 95 % (default 0.3)',
    },
    plan: { value: 'FILE', describe: 'a plan that plan -o wrote: names the run in progress and the next' },
    run: { value: 'N', describe: 'the first run of the plan that may be in progress (default 1)' },
    source: { value: 'NAME', describe: 'what is heated (default: as logs.csv says, else the heater)' },
    power: { value: 'W', describe: 'the load, if the log has no column for it' },
    'fan-rpm': { value: 'N', describe: 'the fan speed, if the log has no column for it' },
    ambient: { value: 'C', describe: 'the ambient, if the log has no column for it' },
    every: { value: 'S', describe: 'print a line at least every S seconds of the log (default 60)' },
    replay: { value: 'N', describe: 'play back a finished log at N times its speed, then end' },
    'no-follow': { describe: 'end at the end of the file' },
    json: { describe: 'print one JSON object per row of the log, each on one line' },
  }),
  run: async (call) => {
    const { folder, options, output, files } = call;
    const bench = await files.openFolder(folder, { allowEmpty: true });
    const replay = numberOf(call, 'replay', 'speed; give how many times as fast, such as 50', 1e-3, 1e6);
    const isEnding = replay !== undefined || options['no-follow'] === true;
    const log = files.watchedLog(options.log, folder, bench, isEnding);
    const shift_s = numberOf(call, 'shift', 'shift; give seconds, such as -37', -1e6, 1e6);
    if (shift_s !== undefined && log.places.length < 2)
      throw fault('shift', `there is one file; give two, such as --log 'a.csv + b.csv'`);
    const plan = planOf(call);
    const followed = watchLog(bench, {
      log: log.name,
      entry: log.entry,
      shift_s,
      within_K: numberOf(call, 'within', 'half-width; give K, such as 0.3', 1e-3, 10),
      source: typeof options.source === 'string' ? knownSource(bench, options.source) : undefined,
      held: heldOf(call),
      plan,
      planRun: numberOf(call, 'run', 'run of the plan; give its order, such as 3', 1, plan?.length ?? 1),
    });
    const every_s = numberOf(call, 'every', 'time; give seconds, such as 60', 0, 1e6) ?? EVERY_S;
    const speaker = speakerFor(options.json === true, output, every_s);
    speaker.begin(followed, log);
    for (const warning of [...bench.warnings, ...followed.warnings]) output.warn(warning);
    await files.untilStopped((signal) =>
      follow(files.growth(log, signal, !isEnding), followed, speaker, output, signal, { replay, isEnding }),
    );
  },
};

function planOf({ options: { plan }, files }: Invocation) {
  if (plan === undefined) return undefined;
  const file = files.given('--plan', plan, 'give the file that plan -o wrote');
  return readPlan(file.name, file.bytes);
}

function heldOf(call: Invocation): { power_W?: number; fan_rpm?: number; ambient_C?: number } {
  const power_W = numberOf(call, 'power', 'load; give W, such as 150', 0, 1e6);
  const fan_rpm = numberOf(call, 'fan-rpm', 'speed; give rpm, such as 1200', 0, 1e6);
  const ambient_C = numberOf(call, 'ambient', 'temperature of a room; give °C, such as 22', -60, 80);
  return {
    ...(power_W !== undefined && { power_W }),
    ...(fan_rpm !== undefined && { fan_rpm }),
    ...(ambient_C !== undefined && { ambient_C }),
  };
}

function numberOf(
  { options }: Invocation,
  name: string,
  wanted: string,
  low: number,
  high: number,
): number | undefined {
  return numberGiven(
    options,
    name,
    `${wanted} (${low} to ${high})`,
    (value) => value >= low && value <= high,
  );
}

/** Says what the rows say, in one of the ways: JSON, lines, or lines with one below them that renews itself. */
interface Speaker {
  begin: (followed: LogWatch, log: WatchedLog) => void;
  state: (state: WatchState) => Promise<void>;
  word: (says: string) => void;
  /** Nothing more is at hand for now. */
  rest: (says?: string) => void;
  end: () => void;
}

function speakerFor(isJson: boolean, output: Output, every_s: number): Speaker {
  const learntFrom = ({ learnt }: LogWatch) =>
    learnt === 0
      ? 'The bench has no other logs: noise and air are learnt from this one as it grows.'
      : `Noise and air are learnt from ${learnt} load ${learnt === 1 ? 'step' : 'steps'} in the bench's other logs.`;
  if (isJson) {
    return {
      begin: (followed) => {
        output.warn(WATCH_SAFETY);
        if (followed.learnt === 0) output.warn(learntFrom(followed));
      },
      state: (state) => output.pieces([jsonText(state)]),
      word: output.warn,
      rest: () => {},
      end: () => {},
    };
  }
  const { terminal } = output;
  const lines = new WatchLines(terminal ? Number.POSITIVE_INFINITY : every_s, terminal?.isUnicode);
  let shown: WatchState | undefined;
  const print = (text: string) => {
    terminal?.renew('');
    output.result(`${text}\n`);
  };
  return {
    begin: (followed, { name }) => {
      print(WATCH_SAFETY);
      print(`${learntFrom(followed)} Following ${name}.`);
    },
    state: async (state) => {
      shown = namesAsText(state);
      const { lines: kept, bell } = lines.take(shown);
      for (const line of kept) print(line);
      if (bell) output.bell?.();
    },
    word: print,
    rest: (says) => {
      if (terminal && (shown || says))
        terminal.renew(says ?? lines.line(shown as WatchState, terminal.columns() - 1));
    },
    end: () => {
      terminal?.renew('');
      const last = shown && lines.last(shown);
      if (last) print(last);
    },
  };
}

async function follow(
  growth: AsyncIterable<Growth>,
  followed: LogWatch,
  speaker: Speaker,
  output: Output,
  signal: Stopping,
  { replay, isEnding }: { replay: number | undefined; isEnding: boolean },
): Promise<void> {
  const pace = replay === undefined ? undefined : new Pace(replay, signal);
  const heard = { at: Date.now(), isPaused: false, notes: 0, isPuzzled: false };
  const timer = setInterval(() => {
    if (pace || heard.isPaused || Date.now() - heard.at < PAUSE_MS) return;
    heard.isPaused = true;
    speaker.word(`no new row for ${Math.round((Date.now() - heard.at) / 1000)} s; waiting`);
  }, 1000);
  const take = async (states: readonly WatchState[]) => {
    for (const state of states) {
      if (pace) await pace.until(state.time_s);
      if (signal.aborted) return;
      heard.at = Date.now();
      heard.isPaused = false;
      await speaker.state(state);
      if (pace) speaker.rest();
    }
    speaker.rest();
    for (const fault of followed.passedOver()) output.warn(`${fault.message}; the row is skipped`);
    for (const note of followed.notes.slice(heard.notes)) speaker.word(`log: ${note}`);
    heard.notes = Math.max(heard.notes, followed.notes.length);
    const { pending } = followed;
    if (pending && !heard.isPuzzled) output.warn(`not understood so far: ${pending.message}`);
    heard.isPuzzled = pending !== undefined;
  };
  try {
    for await (const one of growth) {
      if (signal.aborted) break;
      if (one === 'all read') {
        if (!isEnding) await take(followed.allRead());
      } else if ('bytes' in one) await take(followed.push(one.bytes, one.file));
      else if (one.is === 'replaced') {
        followed.replaced(one.file);
        speaker.word('the file has been replaced or cut; reading goes on from its beginning');
      } else {
        if (!heard.isPaused) speaker.word('the file does not exist yet; waiting for it');
        heard.isPaused = true;
      }
    }
    // A finished log may lack its last line end.
    if (!signal.aborted) await take(followed.end());
  } finally {
    clearInterval(timer);
    speaker.end();
  }
}

/** Lets the rows of a finished log out at a multiple of their speed. */
class Pace {
  private readonly speed: number;
  private readonly signal: Stopping;
  private start: { at: number; time_s: number } | undefined;

  constructor(speed: number, signal: Stopping) {
    this.speed = speed;
    this.signal = signal;
  }

  async until(time_s: number): Promise<void> {
    this.start ??= { at: Date.now(), time_s };
    const due = this.start.at + (1000 * (time_s - this.start.time_s)) / this.speed - Date.now();
    if (due > 1) await pause(due, this.signal);
  }
}

/** Waits so many ms, or until the signal comes. */
function pause(time_ms: number, signal: Stopping): Promise<void> {
  return new Promise((done) => {
    const timer = setTimeout(end, time_ms);
    function end(): void {
      clearTimeout(timer);
      signal.removeEventListener('abort', end);
      done();
    }
    signal.addEventListener('abort', end);
  });
}
