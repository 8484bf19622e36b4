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
import type { TrueCooler } from './physics.ts';
import { makeRandom, type Random } from './random.ts';
import { addLevels, ownLevel } from './sound.ts';

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
  const random = makeRandom(options.seed);
  const scatter = { ...defaultScatter, ...options.scatter };
  const instruments = { ...defaultInstruments, ...options.instruments };
  const specs = coolersOf(options, random);
  const setpoint = options.ambient?.setpoint_C ?? 22;
  const wander = options.ambient?.wander_K ?? 0.3;
  const pressure = options.pressure_hPa ?? 1013.25;
  const background = options.background_dBA ?? 26;
  const sessions = (options.sessions ?? ['']).map((name) => drawSession(name, random, instruments, scatter));
  const sources = sourcesOf(options, random);

  const built = new Map<string, TrueCooler>();
  const coolerOn = (cooler: string, source: string): TrueCooler => {
    const key = `${cooler}\n${source}`;
    let one = built.get(key);
    if (!one) {
      one = trueCooler(specOf(specs, cooler), sourceOf(sources, source).spec);
      built.set(key, one);
    }
    return one;
  };
  const sample_K_per_W = new Map<string, number>();
  const mount_K_per_W = new Map<string, number>();
  const remember = (map: Map<string, number>, key: string, of: (draw: Random) => number): number => {
    let value = map.get(key);
    if (value === undefined) {
      value = of(random.split('interface').split(key));
      map.set(key, value);
    }
    return value;
  };

  const onSource = (source: string) =>
    options.chips?.find(({ chip }) => chip.source === source)?.scatter_factor ?? 1;

  /** What the bench writes for one steady state; `draw` gives its random part. */
  const read = (
    cooler: string,
    source: string,
    metered_W: number,
    fan_rpm: number,
    session: SessionTruth,
    interface_K_per_W: number,
    draw: Random,
    fault: Fault = {},
    pump = 1,
    drift_K = 0,
  ): { source_C: number; ambient_C: number; coolant_C: number | undefined } => {
    const from = sourceOf(sources, source);
    const ambient = setpoint + Math.max(-1, Math.min(1, draw.normal(0, wander)));
    const one =
      fault.pipe_limit_fraction === undefined
        ? coolerOn(cooler, source)
        : trueCooler(withPipeLimit(specOf(specs, cooler), fault.pipe_limit_fraction), from.spec);
    const { loop } = one.spec;
    const ownPower = scatter.power_percent ? draw.split('power').normal(0, scatter.power_percent / 100) : 0;
    const at = {
      power_W: metered_W / (1 + (from.power_scale ?? session.power_scale) + ownPower),
      fan_rpm: fan_rpm * (fault.airflow_fraction ?? 1),
      ambient_C: ambient,
      pressure_hPa: pressure,
      leak_W_per_K: from.leak_W_per_K + (fault.leak_W_per_K ?? 0),
      interface_K_per_W: interface_K_per_W + session.paste_K_per_W + (fault.interface_K_per_W ?? 0),
      ...(loop && { pump_rpm: loop.pump_rpm * pump * (fault.pump_fraction ?? 1) }),
    };
    const rise = one.rise(at);
    const step = instruments.temperature_resolution_K;
    const { coolant } = options;
    let coolant_C: number | undefined;
    if (loop && coolant) {
      const { fins_K, coolantIn_K } = one.steady(at);
      const own = draw.split('coolant').normal(0, coolant.reading_K ?? 0.15);
      const offset = random
        .split('session')
        .split(session.session)
        .split('coolant')
        .normal(0, coolant.systematic_K ?? 0.3);
      const above = coolant.at === 'behind-plate' ? fins_K : coolantIn_K;
      coolant_C = roundTo(ambient + above + offset + own, step);
    }
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
  };

  const drifts = sessions.map(({ session }) => ({
    draw: random.split('drift').split(session),
    K: Number.NaN,
  }));
  /** Where the sensor's offset has wandered to at the next run of a session. */
  const nextDrift = (sessionIndex: number): number => {
    const sd = scatter.drift_K ?? 0;
    const drift = drifts[sessionIndex];
    const { draw, K } = drift;
    if (sd > 0)
      drift.K = Number.isNaN(K)
        ? draw.normal(0, sd)
        : 0.95 * K + draw.normal(0, sd * Math.sqrt(1 - 0.95 ** 2));
    return sd > 0 ? drift.K : 0;
  };

  const runs: string[] = [];
  const faults = new Map<string, Fault>();
  const columns = [
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
  ];
  const conditions: readonly Condition[] =
    options.conditions ??
    (options.speeds ?? [1]).flatMap((speed) =>
      (options.loads_W ?? [60, 120, 180]).map((power_W) => ({ power_W, speed })),
    );
  const zeroLeft = sessions.map(() => options.zeroLoadRuns ?? 0);

  const runMount = (
    spec: AnyCooler,
    sample: string,
    mount: string,
    source: string,
    sessionIndex: number,
    loads: typeof conditions,
  ) => {
    const session = sessions[sessionIndex];
    const effect =
      onSource(source) *
      (remember(sample_K_per_W, `${spec.cooler}/${sample}`, (draw) =>
        draw.normal(0, scatter.sample_K_per_W),
      ) +
        remember(mount_K_per_W, `${spec.cooler}/${sample}/${source}/${mount}`, (draw) =>
          drawMount(draw, scatter),
        ));
    const stream = random.split('run').split(`${spec.cooler}/${sample}/${source}/${mount}`);
    const write = (power_W: number, speed: number, draw: Random, pump = 1) => {
      const metered = power_W === 0 ? 0 : round(power_W + draw.normal(0, 0.15), 1);
      const rpm = Math.round(speed * spec.fan.max_rpm + (speed === 1 ? 0 : draw.between(-6, 6)));
      const run = `r${String(runs.length + 1).padStart(3, '0')}`;
      const fault = options.faults?.find(
        (one) =>
          (one.cooler ?? spec.cooler) === spec.cooler &&
          (one.sample ?? sample) === sample &&
          (one.mount ?? mount) === mount &&
          (one.source ?? source) === source &&
          (one.power_W ?? power_W) === power_W &&
          (one.speed ?? speed) === speed,
      );
      if (fault) faults.set(run, fault);
      const { source_C, ambient_C, coolant_C } = read(
        spec.cooler,
        source,
        metered,
        rpm,
        session,
        effect,
        draw,
        fault,
        pump,
        nextDrift(sessionIndex),
      );
      runs.push(
        [
          run,
          spec.cooler,
          sample,
          mount,
          source,
          session.session,
          metered,
          rpm,
          spec.loop ? Math.round(spec.loop.pump_rpm * pump) : '',
          decimals(source_C, instruments.temperature_resolution_K),
          decimals(ambient_C, instruments.temperature_resolution_K),
          coolant_C === undefined ? '' : decimals(coolant_C, instruments.temperature_resolution_K),
        ].join(','),
      );
    };
    if (source === 'heater') {
      while (zeroLeft[sessionIndex] > 0) {
        zeroLeft[sessionIndex]--;
        write(0, 1, stream.split(`zero/${zeroLeft[sessionIndex]}`));
      }
    }
    for (const { power_W, speed, pump = 1 } of loads)
      for (let reading = 0; reading < (options.readings ?? 1); reading++) {
        const name = `${power_W}/${speed}/${reading}${pump === 1 ? '' : `/${pump}`}`;
        write(power_W, speed, stream.split(name), pump);
      }
  };

  for (const spec of specs) {
    const samples =
      typeof options.samples === 'object' ? (options.samples[spec.cooler] ?? 1) : (options.samples ?? 1);
    let dealt = 0;
    for (let s = 1; s <= samples; s++)
      for (let m = 1; m <= (options.mounts ?? 2); m++)
        runMount(spec, String(s), String(m), 'heater', dealt++ % sessions.length, conditions);
  }
  if (options.reference_cooler !== undefined && sessions.length > 1) {
    const spec = specOf(specs, options.reference_cooler);
    sessions.forEach((session, i) => {
      runMount(spec, '1', `ref-${session.session}`, 'heater', i, conditions);
    });
  }
  for (const chip of options.chips ?? [])
    for (const spec of specs) {
      if (chip.coolers && !chip.coolers.includes(spec.cooler)) continue;
      for (let m = 1; m <= (chip.mounts ?? 1); m++)
        runMount(
          spec,
          '1',
          String(m),
          chip.chip.source,
          sessions.length - 1,
          chip.loads_W.map((power_W) => ({ power_W, speed: 1 })),
        );
    }

  const last = sessions[sessions.length - 1];
  const metered_dBA = (cooler: string, fan_rpm: number) => {
    const spec = specOf(specs, cooler);
    return addLevels(ownLevel(spec.sound, fan_rpm / spec.fan.max_rpm), background) + last.sound_offset_dB;
  };

  const rise_K = (cooler: string, power_W: number, fan_rpm: number, source = 'heater') =>
    coolerOn(cooler, source).rise({
      power_W,
      fan_rpm,
      ambient_C: setpoint,
      pressure_hPa: pressure,
      leak_W_per_K: sourceOf(sources, source).leak_W_per_K,
    });
  const crossings_W = (a: string, b: string, speed = 1, source = 'heater'): number[] => {
    const rpmA = speed * specOf(specs, a).fan.max_rpm;
    const rpmB = speed * specOf(specs, b).fan.max_rpm;
    return signChanges((P) => rise_K(a, P, rpmA, source) - rise_K(b, P, rpmB, source), 15, 600, 5);
  };

  const text = new Map<string, string>();
  text.set(
    'bench.yaml',
    benchYaml(options, { ...instruments, ...options.stated }, sources, setpoint, background),
  );
  text.set('runs.csv', `${dropBlankColumns([columns.join(','), ...runs]).join('\n')}\n`);
  text.set('coolers.csv', coolersCsv(specs));
  const speeds = options.noise_speeds ?? [0.35, 0.45, 0.55, 0.7, 0.85, 1];
  if (speeds.length > 0) {
    const rows = ['cooler,fan_rpm,sound_dBA'];
    for (const spec of specs)
      for (const speed of speeds) {
        const rpm = Math.round(speed * spec.fan.max_rpm);
        if (rpm < spec.fan.min_rpm) continue;
        const draw = random.split('noise').split(`${spec.cooler}/${speed}`);
        const level = metered_dBA(spec.cooler, rpm) + draw.normal(0, options.sound_reading_dB ?? 0.2);
        rows.push(`${spec.cooler},${rpm},${level.toFixed(1)}`);
      }
    text.set('noise.csv', `${rows.join('\n')}\n`);
  }
  const encoder = new TextEncoder();
  const files = new Map([...text].map(([name, content]) => [name, encoder.encode(content)] as const));

  const truth: BenchTruth = {
    coolers: specs.map((spec) => spec.cooler),
    rise_K,
    fan_max_rpm: (cooler) => specOf(specs, cooler).fan.max_rpm,
    crossing_W: (a, b, speed, source) => crossings_W(a, b, speed, source)[0],
    crossings_W,
    scatter,
    sessions,
    leak_W_per_K: sourceOf(sources, 'heater').leak_W_per_K,
    sample_K_per_W,
    mount_K_per_W,
    faults,
    freshRun(cooler, power_W, fan_rpm, seed, source = 'heater') {
      const draw = makeRandom(seed).split('fresh').split(`${cooler}/${source}`);
      const effect = onSource(source) * (draw.normal(0, scatter.sample_K_per_W) + drawMount(draw, scatter));
      const drift = scatter.drift_K ? draw.split('drift').normal(0, scatter.drift_K) : 0;
      const reading = read(cooler, source, power_W, fan_rpm, last, effect, draw, {}, 1, drift);
      return reading.source_C - reading.ambient_C;
    },
    metered_dBA,
  };
  return { files, truth };
}

export type { VirtualBenchOptions } from './bench-options.ts';
export type { BenchTruth, VirtualBench } from './bench-truth.ts';
