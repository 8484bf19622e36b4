import type { CoolerAtSound, RiseAtSound, SoundTradeOff } from '../../sound/sound-trade-off.ts';
import { table } from './table.ts';
import { wrap } from './text-width.ts';
import { fixed, interval } from './uncertainty.ts';
import { fromTo, load, marked, moreLines, percent, plain, spread } from './wording.ts';

const MOST_LEVELS = 6;
const MOST_COOLERS = 15;
const UNBEATEN_MARK = '+';

const LIMITS: Record<CoolerAtSound['limited_by'], string> = {
  none: '',
  'least-stable-speed': 'not that quiet',
  'greatest-speed': 'not that loud',
};

function speedsTable(sound: SoundTradeOff, level: number, width: number): string[] {
  const shown = [...sound.coolers].sort((a, b) => a.rise_K - b.rise_K).slice(0, MOST_COOLERS);
  const text = table(
    [
      { title: 'cooler', align: 'left' },
      { title: 'fan', unit: 'rpm', align: 'right' },
      { title: `${percent(level)} interval`, unit: 'rpm', align: 'right' },
      { title: 'sound', unit: 'dBA', align: 'right' },
      { title: 'at full speed', unit: 'dBA', align: 'right' },
      { title: '', align: 'left' },
    ],
    shown.map((c) => [
      c.cooler,
      String(Math.round(c.fan_rpm)),
      `${Math.round(c.low_rpm)} to ${Math.round(c.high_rpm)}`,
      fixed(c.sound_dBA, 1),
      fixed(c.full_speed.sound_dBA, 1),
      LIMITS[c.limited_by],
    ]),
    { width },
  );
  const lines = [`Speeds that make ${plain(sound.sound_dBA)} dBA as metered`, text];
  lines.push(...moreLines(sound.coolers.length - shown.length));
  const assumed = shown.filter((c) => c.fan_min_assumed && c.limited_by === 'least-stable-speed');
  if (assumed.length > 0) {
    const list = assumed.map((c) => `${c.cooler} ${Math.round(c.fan_min_rpm)} rpm`).join(', ');
    lines.push(...wrap(`Least stable speed assumed, coolers.csv gives none: ${list}.`, width));
  }
  return [...lines, ''];
}

/** The point of a curve at a level, where it has one. */
function at(points: readonly RiseAtSound[], level_dBA: number): RiseAtSound | undefined {
  return points.find((point) => Math.abs(point.sound_dBA - level_dBA) < 0.05);
}

function curvesTable(sound: SoundTradeOff, width: number): string[] {
  const whole = new Set(
    sound.rise_against_sound.flatMap(({ points }) =>
      points.map((p) => Math.round(p.sound_dBA)).filter((l) => at(points, l)),
    ),
  );
  const levels = spread(
    [...whole].sort((a, b) => a - b),
    MOST_LEVELS,
  );
  if (levels.length < 2) return [];
  const shown = sound.rise_against_sound.slice(0, MOST_COOLERS);
  const rangesOf = (name: string) =>
    sound.undominated
      .filter(({ cooler }) => cooler === name)
      .map(({ from_dBA, to_dBA }) => fromTo(Math.round(from_dBA), Math.round(to_dBA)))
      .join(', ');
  const columns = levels.map((level_dBA) =>
    marked(
      shown.map(({ points }) => {
        const point = at(points, level_dBA);
        return point ? fixed(point.rise_K, 1) + (point.undominated ? UNBEATEN_MARK : '') : '-';
      }),
      shown.map(({ points }) => at(points, level_dBA)?.extrapolated ?? false),
    ),
  );
  const text = table(
    [
      { title: 'cooler', align: 'left' },
      ...levels.map((level_dBA) => ({ title: `${level_dBA} dBA`, align: 'right' as const })),
      { title: 'not beaten', unit: 'dBA', align: 'right' },
    ],
    shown.map(({ cooler }, i) => {
      return [cooler, ...columns.map((column) => column[i]), rangesOf(cooler) || 'never'];
    }),
    { width },
  );
  const note = `${UNBEATEN_MARK} no cooler that is as quiet or quieter is shown to be cooler there; for a cooler that is never marked there is always one.`;
  return [`Rise against sound at ${load(sound.power_W)}, K`, text, ...wrap(note, width), ''];
}

function boughtTable(sound: SoundTradeOff, level: number, width: number): string[] {
  if (sound.bought.length === 0) return [];
  const shown = [...sound.bought].sort((a, b) => b.gain_K - a.gain_K).slice(0, MOST_COOLERS);
  const gains = marked(
    shown.map((b) => fixed(b.gain_K, 1)),
    shown.map((b) => b.extrapolated),
  );
  const text = table(
    [
      { title: 'cooler', align: 'left' },
      { title: 'from', unit: 'dBA', align: 'right' },
      { title: 'to', unit: 'dBA', align: 'right' },
      { title: 'less rise', unit: 'K', align: 'right' },
      { title: `${percent(level)} interval`, unit: 'K', align: 'right' },
    ],
    shown.map((b, i) => [
      b.cooler,
      fixed(b.from_dBA, 1),
      fixed(b.to_dBA, 1),
      gains[i],
      interval(b.low_K, b.high_K),
    ]),
    { width },
  );
  return [`What 5 dB more gain at ${load(sound.power_W)}`, text, ''];
}

function pumpLines(sound: SoundTradeOff, width: number): string[] {
  if (sound.pump_and_fan.length === 0) return [];
  const lines = sound.pump_and_fan.flatMap((one) => {
    const text =
      'reason' in one
        ? `${one.cooler}: not known: ${one.reason}.`
        : `${one.cooler}: fan ${Math.round(one.fan_rpm)} rpm and pump ${Math.round(one.pump_rpm)} rpm, rise ${fixed(one.rise_K, 1)} K (${interval(one.low_K, one.high_K)}).`;
    return wrap(text, width);
  });
  return [`Best pair of pump and fan at ${plain(sound.sound_dBA)} dBA`, ...lines, ''];
}

/**
 * What sound costs and buys, for a person: sentences, the speeds at the level, rise against sound, what 5 dB buy.
 *
 * @param level  confidence of the intervals
 * @returns lines
 */
export function soundTables(sound: SoundTradeOff, level: number, width = 80): string[] {
  const sentences = sound.sentences.flatMap((sentence) => wrap(sentence, width));
  return [
    ...(sentences.length > 0 ? [`What full speed hides at ${load(sound.power_W)}`, ...sentences, ''] : []),
    ...speedsTable(sound, level, width),
    ...curvesTable(sound, width),
    ...boughtTable(sound, level, width),
    ...pumpLines(sound, width),
  ];
}
