import { CHIP_DEFAULTS } from '../bench/source.ts';
import type { TrueInstruments, VirtualBenchOptions } from './bench-options.ts';
import type { SourceTruth } from './bench-truth.ts';
import type { KnownCooler } from './cooler-spec.ts';

/** Leaves out columns without a single entry. Cells hold no commas. */
export function dropBlankColumns(lines: readonly string[]): string[] {
  const cells = lines.map((line) => line.split(','));
  const kept = cells[0].map((_, k) => cells.some((row, i) => i > 0 && row[k] !== ''));
  return cells.map((row) => row.filter((_, k) => kept[k]).join(','));
}

/** coolers.csv, as a lab would know its coolers. */
export function coolersCsv(specs: readonly KnownCooler[]): string {
  const rows = [
    'cooler,kind,heat_pipes,heat_pipe_diameter_mm,base_thickness_mm,fan_max_rpm,fan_min_rpm,fans,price',
  ];
  for (const { cooler, kind, pipes, base, fan, listed } of specs) {
    const hidden = listed.hide_pipes === true;
    rows.push(
      [
        cooler,
        kind,
        hidden ? '' : (pipes?.count ?? (kind === 'air' ? 0 : '')),
        hidden ? '' : (pipes?.diameter_mm ?? ''),
        base.thickness_mm,
        fan.max_rpm,
        fan.min_rpm,
        fan.count,
        listed.price ?? '',
      ].join(','),
    );
  }
  return `${rows.join('\n')}\n`;
}

/** bench.yaml with its comments. */
export function benchYaml(
  options: VirtualBenchOptions,
  instruments: TrueInstruments,
  sources: ReadonlyMap<string, SourceTruth>,
  setpoint: number,
  background: number,
): string {
  const heater = sources.get('heater')!;
  const lines = [
    `name: ${JSON.stringify(options.name ?? `Virtual bench ${options.seed}`)}`,
    '',
    '# The room, held at a temperature.',
    `ambient: { setpoint_C: ${setpoint}, tolerance_K: 1 }`,
    '',
    '# Standard uncertainties. "systematic" is an error that all runs of a session share.',
    'instruments:',
    `  source_temperature: { systematic_K: ${instruments.source_systematic_K}, resolution_K: ${instruments.temperature_resolution_K} }`,
    `  ambient_temperature: { systematic_K: ${instruments.ambient_systematic_K}, resolution_K: ${instruments.temperature_resolution_K} }`,
    `  power: { systematic_percent: ${instruments.power_systematic_percent} }`,
    `  sound_level: { systematic_dB: ${instruments.sound_systematic_dB}, background_dBA: ${background}, distance_mm: ${options.distance_mm ?? 500} }`,
    '',
    '# The dummy heater. The leak is what its insulation lets out past the cooler, per kelvin above ambient.',
    'heater:',
    '  power_max_W: 350',
    '  temperature_limit_C: 95',
    `  leak_W_per_K: { value: ${heater.stated.value}, uncertainty: ${heater.stated.uncertainty} }`,
  ];
  if (options.chips && options.chips.length > 0) {
    lines.push('', 'chips:');
    for (const chip of options.chips) {
      const stated = sources.get(chip.chip.source)!.stated;
      lines.push(
        `  - chip: ${chip.chip.source}`,
        `    temperature_limit_C: ${chip.temperature_limit_C ?? 90}`,
        `    sensor_systematic_K: ${chip.sensor_systematic_K ?? CHIP_DEFAULTS.sensor_systematic_K}`,
        `    power_systematic_percent: ${chip.power_systematic_percent ?? CHIP_DEFAULTS.power_systematic_percent}`,
        `    leak_W_per_K: { value: ${stated.value}, uncertainty: ${stated.uncertainty} }`,
        ...(chip.geometry === undefined ? [] : [`    geometry: ${JSON.stringify(chip.geometry)}`]),
      );
    }
  }
  if (options.sessions?.some((name) => name !== ''))
    lines.push('', 'sessions:', ...options.sessions.map((name) => `  - session: ${name}`));
  if (options.reference_cooler !== undefined) lines.push('', `reference_cooler: ${options.reference_cooler}`);
  return `${lines.join('\n')}\n`;
}

/** To so many decimal places. */
export function round(value: number, places: number): number {
  return Number(value.toFixed(places));
}

/** To the nearest multiple of a step; a step of 0 leaves it. */
export function roundTo(value: number, step: number): number {
  return step > 0 ? Math.round(value / step) * step : value;
}

/** As a logger with this resolution writes it; four decimals without one. */
export function decimals(value: number, step: number): string {
  return step > 0 ? value.toFixed(Math.max(0, Math.ceil(-Math.log10(step)))) : value.toFixed(4);
}
