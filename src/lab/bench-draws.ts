import { CHIP_DEFAULTS, LEAK_DEFAULT } from '../bench/source.ts';
import type { AnyCooler, Scatter, TrueInstruments, VirtualBenchOptions } from './bench-options.ts';
import type { SessionTruth, SourceTruth } from './bench-truth.ts';
import type { SourceSpec } from './cooler-spec.ts';
import { CurveCooler } from './curve-cooler.ts';
import { labData } from './lab-data.generated.ts';
import { type TrueCooler, VirtualCooler } from './physics.ts';
import type { Random } from './random.ts';
import { randomCoolers } from './random-coolers.ts';

/** The coolers of a virtual bench: as given, so many drawn at random, or the shipped ones. */
export function coolersOf(options: VirtualBenchOptions, random: Random): readonly AnyCooler[] {
  if (options.coolers === undefined) return labData.coolers;
  if (typeof options.coolers === 'number')
    return randomCoolers(options.coolers, random.split('coolers').integer(0, 0x7fffffff));
  return options.coolers;
}

/** The description of a cooler by name. */
export function specOf(specs: readonly AnyCooler[], cooler: string): AnyCooler {
  const spec = specs.find((one) => one.cooler === cooler);
  if (!spec)
    throw new RangeError(
      `no cooler ${cooler} on this bench; it has ${specs.map((s) => s.cooler).join(', ')}`,
    );
  return spec;
}

/** The cooler that is simulated: by physics where its fins are described, else by its curves. */
export function trueCooler(spec: AnyCooler, source: SourceSpec): TrueCooler {
  return 'fins' in spec ? new VirtualCooler(spec, source) : new CurveCooler(spec, source);
}

/** The cooler with the limit of each pipe at a fraction of what it is. */
export function withPipeLimit<Spec extends AnyCooler>(spec: Spec, fraction: number): Spec {
  return spec.pipes ? { ...spec, pipes: { ...spec.pipes, limit_W: spec.pipes.limit_W * fraction } } : spec;
}

/** What a mount adds, K/W: normal, or t with the same standard deviation. */
export function drawMount(draw: Random, { mount_K_per_W: sd, mount_freedom: freedom }: Scatter): number {
  const value = draw.normal(0, sd);
  if (freedom === undefined) return value;
  let squares = 0;
  for (let k = 0; k < freedom; k++) squares += draw.normal() ** 2;
  return value * Math.sqrt((freedom - 2) / squares);
}

/** A source's truth by name. */
export function sourceOf(sources: ReadonlyMap<string, SourceTruth>, source: string): SourceTruth {
  const one = sources.get(source);
  if (!one)
    throw new RangeError(`no source ${source} on this bench; it has ${[...sources.keys()].join(', ')}`);
  return one;
}

/** What is off in a session: sensors, power, sound meter and paste, each drawn by its standard deviation. */
export function drawSession(
  session: string,
  random: Random,
  instruments: TrueInstruments,
  scatter: Scatter,
): SessionTruth {
  const draw = random.split('session').split(session);
  return {
    session,
    source_offset_K: draw.normal(0, instruments.source_systematic_K),
    ambient_offset_K: draw.normal(0, instruments.ambient_systematic_K),
    power_scale: draw.normal(0, instruments.power_systematic_percent / 100),
    sound_offset_dB: draw.normal(0, instruments.sound_systematic_dB),
    paste_K_per_W: draw.normal(0, scatter.session_K_per_W),
  };
}

/** The heater and the chips with the true leak of each. */
export function sourcesOf(options: VirtualBenchOptions, random: Random): Map<string, SourceTruth> {
  const leak = options.heaterLeak ?? { value: 0, uncertainty: 0, true_W_per_K: 0 };
  const draw = random.split('leak');
  const sources = new Map<string, SourceTruth>();
  sources.set('heater', {
    spec: labData.heater,
    stated: { value: leak.value, uncertainty: leak.uncertainty },
    leak_W_per_K: leak.true_W_per_K ?? Math.max(0, draw.split('heater').normal(leak.value, leak.uncertainty)),
  });
  for (const chip of options.chips ?? []) {
    const name = chip.chip.source;
    const stated = chip.leak_W_per_K ?? LEAK_DEFAULT;
    const own = random.split('chip').split(name);
    sources.set(name, {
      spec: chip.chip,
      stated,
      leak_W_per_K: Math.max(0, draw.split(name).normal(stated.value, stated.uncertainty)),
      sensor_K: own.normal(0, chip.sensor_systematic_K ?? CHIP_DEFAULTS.sensor_systematic_K),
      power_scale: own.normal(
        0,
        (chip.power_systematic_percent ?? CHIP_DEFAULTS.power_systematic_percent) / 100,
      ),
    });
  }
  return sources;
}
