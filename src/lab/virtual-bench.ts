import { signChanges } from '../numerics/roots.ts';
import {
  coolersOf,
  drawMount,
  drawSession,
  sourceOf,
  sourcesOf,
  specOf,
  trueCooler,
  withPipeLimit,
} from './bench-draws.ts';
import { benchYaml, coolersCsv, decimals, dropBlankColumns, round, roundTo } from './bench-files.ts';
import {
  type AnyCooler,
  type Condition,
  defaultInstruments,
  defaultScatter,
  type Fault,
  type VirtualBenchOptions,
} from './bench-options.ts';
import type { BenchTruth, SessionTruth, VirtualBench } from './bench-truth.ts';
import type { Conditions, TrueCooler } from './physics.ts';
import { makeRandom, type Random } from './random.ts';
import { addLevels, ownLevel } from './sound.ts';

const COLUMNS = [
  'run',
  'cooler',
  'sample',
  'mount',
  'source',
  'session',
  'power_W',
  'fan_rpm',
  'pump_rpm',
  'source_C',
  'ambient_C',
  'coolant_C',
] as const;

/** A steady state that is to be read: the cooler on a source in a session, and what stands at the interface. */
interface Steady {
  readonly cooler: string;
  readonly source: string;
  readonly session: SessionTruth;
  /** What sample and mount add at the interface, K/W. */
  readonly interface_K_per_W: number;
}

/** One fitting of a sample, and the session it is run in. */
interface Fitting {
  readonly spec: AnyCooler;
  readonly sample: string;
  readonly mount: string;
  readonly source: string;
  readonly sessionIndex: number;
}

/** A bench as it is drawn: its true coolers, scatters and sessions, and the runs that have been read on it so far. */
class DrawnBench {
  readonly options: VirtualBenchOptions;
  readonly random: Random;
  readonly scatter: typeof defaultScatter;
  readonly instruments: typeof defaultInstruments;
  readonly specs: readonly AnyCooler[];
  readonly sources: ReturnType<typeof sourcesOf>;
  readonly sessions: SessionTruth[];
  readonly setpoint: number;
  readonly background: number;
  readonly sample_K_per_W = new Map<string, number>();
  readonly mount_K_per_W = new Map<string, number>();
  readonly faults = new Map<string, Fault>();
  /** Rows of runs.csv. */
  readonly runs: string[] = [];
  private readonly built = new Map<string, TrueCooler>();
  private readonly drifts: { draw: Random; K: number }[];
  private readonly zeroLeft: number[];

  constructor(options: VirtualBenchOptions) {
    this.options = options;
    this.random = makeRandom(options.seed);
    this.scatter = { ...defaultScatter, ...options.scatter };
    this.instruments = { ...defaultInstruments, ...options.instruments };
    this.specs = coolersOf(options, this.random);
    this.setpoint = options.ambient?.setpoint_C ?? 22;
    this.background = options.background_dBA ?? 26;
    this.sessions = (options.sessions ?? ['']).map((name) =>
      drawSession(name, this.random, this.instruments, this.scatter),
    );
    this.sources = sourcesOf(options, this.random);
    this.drifts = this.sessions.map(({ session }) => ({
      draw: this.random.split('drift').split(session),
      K: Number.NaN,
    }));
    this.zeroLeft = this.sessions.map(() => options.zeroLoadRuns ?? 0);
  }

  get last(): SessionTruth {
    return this.sessions[this.sessions.length - 1];
  }

  private get pressure(): number {
    return this.options.pressure_hPa ?? 1013.25;
  }

  private coolerOn(cooler: string, source: string): TrueCooler {
    const key = `${cooler}\n${source}`;
    let one = this.built.get(key);
    if (!one) {
      one = trueCooler(specOf(this.specs, cooler), sourceOf(this.sources, source).spec);
      this.built.set(key, one);
    }
    return one;
  }

  /** The effect of a sample or mount, drawn at the first time of asking. */
  private drawnOnce(map: Map<string, number>, key: string, of: (draw: Random) => number): number {
    let value = map.get(key);
    if (value === undefined) {
      value = of(this.random.split('interface').split(key));
      map.set(key, value);
    }
    return value;
  }

  /** How much more than on the heater samples and mounts scatter on a source. */
  scatterFactor(source: string): number {
    return this.options.chips?.find(({ chip }) => chip.source === source)?.scatter_factor ?? 1;
  }

  /** What the bench writes for one steady state; `draw` gives its random part. */
  read(
    { cooler, source, session, interface_K_per_W }: Steady,
    metered_W: number,
    fan_rpm: number,
    draw: Random,
    { fault = {}, pump = 1, drift_K = 0 }: { fault?: Fault; pump?: number; drift_K?: number } = {},
  ): { source_C: number; ambient_C: number; coolant_C: number | undefined } {
    const { scatter, instruments, options } = this;
    const from = sourceOf(this.sources, source);
    const wander = options.ambient?.wander_K ?? 0.3;
    const ambient = this.setpoint + Math.max(-1, Math.min(1, draw.normal(0, wander)));
    const one =
      fault.pipe_limit_fraction === undefined
        ? this.coolerOn(cooler, source)
        : trueCooler(withPipeLimit(specOf(this.specs, cooler), fault.pipe_limit_fraction), from.spec);
    const { loop } = one.spec;
    const ownPower = scatter.power_percent ? draw.split('power').normal(0, scatter.power_percent / 100) : 0;
    const at = {
      power_W: metered_W / (1 + (from.power_scale ?? session.power_scale) + ownPower),
      fan_rpm: fan_rpm * (fault.airflow_fraction ?? 1),
      ambient_C: ambient,
      pressure_hPa: this.pressure,
      leak_W_per_K: from.leak_W_per_K + (fault.leak_W_per_K ?? 0),
      interface_K_per_W: interface_K_per_W + session.paste_K_per_W + (fault.interface_K_per_W ?? 0),
      ...(loop && { pump_rpm: loop.pump_rpm * pump * (fault.pump_fraction ?? 1) }),
    };
    const rise = one.rise(at);
    const step = instruments.temperature_resolution_K;
    const coolant_C =
      loop && options.coolant
        ? roundTo(ambient + this.coolantAbove(one.steady(at), session, draw), step)
        : undefined;
    return {
      coolant_C,
      source_C: roundTo(
        ambient +
          rise +
          (from.sensor_K ?? session.source_offset_K) +
          (fault.sensor_K ?? 0) +
          drift_K +
          draw.normal(0, scatter.reading_K),
        step,
      ),
      ambient_C: roundTo(ambient + session.ambient_offset_K, step),
    };
  }

  /** The coolant as its sensor reads it, above the true ambient, K. */
  private coolantAbove(
    { fins_K, coolantIn_K }: { fins_K: number; coolantIn_K: number },
    { session }: SessionTruth,
    draw: Random,
  ): number {
    const { coolant = { at: undefined, reading_K: undefined, systematic_K: undefined } } = this.options;
    const own = draw.split('coolant').normal(0, coolant.reading_K ?? 0.15);
    const stream = this.random.split('session').split(session).split('coolant');
    const offset = stream.normal(0, coolant.systematic_K ?? 0.3);
    return (coolant.at === 'behind-plate' ? fins_K : coolantIn_K) + offset + own;
  }

  /** Where the sensor's offset has wandered to at the next run of a session: an autoregression of first order, 0.95 a run. */
  private nextDrift(sessionIndex: number): number {
    const sd = this.scatter.drift_K ?? 0;
    if (!(sd > 0)) return 0;
    const drift = this.drifts[sessionIndex];
    const { draw, K } = drift;
    drift.K = Number.isNaN(K) ? draw.normal(0, sd) : 0.95 * K + draw.normal(0, sd * Math.sqrt(1 - 0.95 ** 2));
    return drift.K;
  }

  /** A sample fitted and run at all loads, runs without load first where the session still lacks some. */
  runMount(fitting: Fitting, loads: readonly Condition[]): void {
    const { spec, sample, mount, source, sessionIndex } = fitting;
    const name = `${spec.cooler}/${sample}/${source}/${mount}`;
    const interface_K_per_W =
      this.scatterFactor(source) *
      (this.drawnOnce(this.sample_K_per_W, `${spec.cooler}/${sample}`, (draw) =>
        draw.normal(0, this.scatter.sample_K_per_W),
      ) +
        this.drawnOnce(this.mount_K_per_W, name, (draw) => drawMount(draw, this.scatter)));
    const session = this.sessions[sessionIndex];
    const steady = { cooler: spec.cooler, source, session, interface_K_per_W };
    const stream = this.random.split('run').split(name);
    while (source === 'heater' && this.zeroLeft[sessionIndex] > 0) {
      this.zeroLeft[sessionIndex]--;
      const draw = stream.split(`zero/${this.zeroLeft[sessionIndex]}`);
      this.write(fitting, steady, { power_W: 0, speed: 1 }, draw);
    }
    for (const at of loads)
      for (let reading = 0; reading < (this.options.readings ?? 1); reading++) {
        const { power_W, speed, pump = 1 } = at;
        const key = `${power_W}/${speed}/${reading}${pump === 1 ? '' : `/${pump}`}`;
        this.write(fitting, steady, at, stream.split(key));
      }
  }

  /** One run, read and written as a row. */
  private write(
    fitting: Fitting,
    steady: Steady,
    { power_W, speed, pump = 1 }: Condition,
    draw: Random,
  ): void {
    const { spec, sample, mount, source, sessionIndex } = fitting;
    const metered = power_W === 0 ? 0 : round(power_W + draw.normal(0, 0.15), 1);
    const rpm = Math.round(speed * spec.fan.max_rpm + (speed === 1 ? 0 : draw.between(-6, 6)));
    const run = `r${String(this.runs.length + 1).padStart(3, '0')}`;
    const fault = this.options.faults?.find(
      (one) =>
        (one.cooler ?? spec.cooler) === spec.cooler &&
        (one.sample ?? sample) === sample &&
        (one.mount ?? mount) === mount &&
        (one.source ?? source) === source &&
        (one.power_W ?? power_W) === power_W &&
        (one.speed ?? speed) === speed,
    );
    if (fault) this.faults.set(run, fault);
    const drift_K = this.nextDrift(sessionIndex);
    const { source_C, ambient_C, coolant_C } = this.read(steady, metered, rpm, draw, {
      fault,
      pump,
      drift_K,
    });
    const step = this.instruments.temperature_resolution_K;
    const cells = [
      run,
      spec.cooler,
      sample,
      mount,
      source,
      steady.session.session,
      metered,
      rpm,
      spec.loop ? Math.round(spec.loop.pump_rpm * pump) : '',
      decimals(source_C, step),
      decimals(ambient_C, step),
      coolant_C === undefined ? '' : decimals(coolant_C, step),
    ];
    this.runs.push(cells.join(','));
  }

  metered_dBA(cooler: string, fan_rpm: number): number {
    const spec = specOf(this.specs, cooler);
    const own = ownLevel(spec.sound, fan_rpm / spec.fan.max_rpm);
    return addLevels(own, this.background) + this.last.sound_offset_dB;
  }

  /** The true load on a source in a room at the setpoint. */
  private usual(power_W: number, fan_rpm: number, source: string): Conditions {
    const { leak_W_per_K } = sourceOf(this.sources, source);
    return { power_W, fan_rpm, ambient_C: this.setpoint, pressure_hPa: this.pressure, leak_W_per_K };
  }

  rise_K(cooler: string, power_W: number, fan_rpm: number, source = 'heater'): number {
    return this.coolerOn(cooler, source).rise(this.usual(power_W, fan_rpm, source));
  }

  pipesHold(cooler: string, power_W: number, fan_rpm: number): boolean {
    return this.coolerOn(cooler, 'heater').pipesHold(this.usual(power_W, fan_rpm, 'heater'));
  }

  crossings_W(a: string, b: string, speed = 1, source = 'heater'): number[] {
    const rpmA = speed * specOf(this.specs, a).fan.max_rpm;
    const rpmB = speed * specOf(this.specs, b).fan.max_rpm;
    return signChanges((P) => this.rise_K(a, P, rpmA, source) - this.rise_K(b, P, rpmB, source), 15, 600, 5);
  }
}

/**
 * A bench folder made by the virtual lab, and what is true of it.
 *
 * Sample, mount and paste act as resistance in series at the interface, so their effect grows with the heat through it. Sensor offsets and the power
 * scale are drawn once per session with the standard uncertainties that bench.yaml states. Every draw has its own
 * named stream: another cooler, sample or load leaves the rest as it was.
 *
 * @throws RangeError on an unknown cooler or source name
 * @example makeVirtualBench({ seed: 1 }).truth.rise_K('Siskin', 120, 1900) // about 21.3
 */
export function makeVirtualBench(options: VirtualBenchOptions): VirtualBench {
  const bench = new DrawnBench(options);
  runAll(bench);
  const encoder = new TextEncoder();
  const files = new Map(
    [...filesOf(bench)].map(([name, content]) => [name, encoder.encode(content)] as const),
  );
  return { files, truth: truthOf(bench) };
}

/** The runs in their order: every cooler on the heater, the reference cooler in each session, then the chips. */
function runAll(bench: DrawnBench): void {
  const { options, specs, sessions } = bench;
  const conditions: readonly Condition[] =
    options.conditions ??
    (options.speeds ?? [1]).flatMap((speed) =>
      (options.loads_W ?? [60, 120, 180]).map((power_W) => ({ power_W, speed })),
    );
  for (const spec of specs) {
    const samples =
      typeof options.samples === 'object' ? (options.samples[spec.cooler] ?? 1) : (options.samples ?? 1);
    let dealt = 0;
    for (let s = 1; s <= samples; s++)
      for (let m = 1; m <= (options.mounts ?? 2); m++) {
        const sessionIndex = dealt++ % sessions.length;
        bench.runMount(
          { spec, sample: String(s), mount: String(m), source: 'heater', sessionIndex },
          conditions,
        );
      }
  }
  if (options.reference_cooler !== undefined && sessions.length > 1) {
    const spec = specOf(specs, options.reference_cooler);
    sessions.forEach(({ session }, sessionIndex) => {
      const mount = `ref-${session}`;
      bench.runMount({ spec, sample: '1', mount, source: 'heater', sessionIndex }, conditions);
    });
  }
  for (const chip of options.chips ?? []) {
    const loads = chip.loads_W.map((power_W) => ({ power_W, speed: 1 }));
    const on = { sample: '1', source: chip.chip.source, sessionIndex: sessions.length - 1 };
    for (const spec of specs) {
      if (chip.coolers && !chip.coolers.includes(spec.cooler)) continue;
      for (let m = 1; m <= (chip.mounts ?? 1); m++) bench.runMount({ ...on, spec, mount: String(m) }, loads);
    }
  }
}

/** The files of a bench folder, name → text. */
function filesOf(bench: DrawnBench): Map<string, string> {
  const { options, specs, instruments, sources, setpoint, background } = bench;
  const stated = { ...instruments, ...options.stated };
  const text = new Map([
    ['bench.yaml', benchYaml(options, stated, sources, setpoint, background)],
    ['runs.csv', `${dropBlankColumns([COLUMNS.join(','), ...bench.runs]).join('\n')}\n`],
    ['coolers.csv', coolersCsv(specs)],
  ]);
  const speeds = options.noise_speeds ?? [0.35, 0.45, 0.55, 0.7, 0.85, 1];
  if (speeds.length === 0) return text;
  const rows = ['cooler,fan_rpm,sound_dBA'];
  for (const spec of specs)
    for (const speed of speeds) {
      const rpm = Math.round(speed * spec.fan.max_rpm);
      if (rpm < spec.fan.min_rpm) continue;
      const draw = bench.random.split('noise').split(`${spec.cooler}/${speed}`);
      const level = bench.metered_dBA(spec.cooler, rpm) + draw.normal(0, options.sound_reading_dB ?? 0.2);
      rows.push(`${spec.cooler},${rpm},${level.toFixed(1)}`);
    }
  return text.set('noise.csv', `${rows.join('\n')}\n`);
}

/** What is true of a bench. */
function truthOf(bench: DrawnBench): BenchTruth {
  const { specs, scatter, sessions, sources, sample_K_per_W, mount_K_per_W, faults, last } = bench;
  return {
    coolers: specs.map((spec) => spec.cooler),
    rise_K: (cooler, power_W, fan_rpm, source) => bench.rise_K(cooler, power_W, fan_rpm, source),
    pipesHold: (cooler, power_W, fan_rpm) => bench.pipesHold(cooler, power_W, fan_rpm),
    fan_max_rpm: (cooler) => specOf(specs, cooler).fan.max_rpm,
    crossing_W: (a, b, speed, source) => bench.crossings_W(a, b, speed, source)[0],
    crossings_W: (a, b, speed, source) => bench.crossings_W(a, b, speed, source),
    scatter,
    sessions,
    leak_W_per_K: sourceOf(sources, 'heater').leak_W_per_K,
    sample_K_per_W,
    mount_K_per_W,
    faults,
    freshRun(cooler, power_W, fan_rpm, seed, source = 'heater') {
      const draw = makeRandom(seed).split('fresh').split(`${cooler}/${source}`);
      const own = draw.normal(0, scatter.sample_K_per_W) + drawMount(draw, scatter);
      const drift_K = scatter.drift_K ? draw.split('drift').normal(0, scatter.drift_K) : 0;
      const steady = { cooler, source, session: last, interface_K_per_W: bench.scatterFactor(source) * own };
      const reading = bench.read(steady, power_W, fan_rpm, draw, { drift_K });
      return reading.source_C - reading.ambient_C;
    },
    metered_dBA: (cooler, fan_rpm) => bench.metered_dBA(cooler, fan_rpm),
  };
}

export type { VirtualBenchOptions } from './bench-options.ts';
export type { BenchTruth, VirtualBench } from './bench-truth.ts';
