import { nearestName } from './nearest-name.ts';
import { acceptedNames, benchName, type Quantity, readName } from './quantity.ts';
import { type Dimension, dimensions } from './unit-table.ts';
import { listed, shown } from './wording.ts';

/** What the columns of a table may be. */
export interface Headable {
  readonly numbers: readonly (Quantity & { readonly required?: boolean })[];
  readonly texts: readonly { readonly name: string }[];
}

/** How the headings of a table were read. */
export interface Headings {
  /** For each heading the bench's name that its column is read by; `undefined`: carried along. */
  readonly names: readonly (string | undefined)[];
  /** For people: `"Load (W)" as power_W`, for every heading that is not a bench's name itself. */
  readonly understood: readonly string[];
}

export interface HeadingOptions {
  /** `columns` of bench.yaml: heading to name; an empty name carries the column along unread. */
  readonly columns?: Readonly<Record<string, string>>;
  /** Whether a column holds numbers. */
  readonly numeric: (index: number) => boolean;
  readonly refuse: (index: number, what: string) => Error;
  /** How a person says what headings are, ready to be copied; default: as a line of bench.yaml. */
  readonly saying?: Saying;
}

/** From headings and the names that they may be meant as to what a person writes to say so. */
export type Saying = (meant: readonly (readonly [heading: string, name: string])[]) => string;

const sayInYaml: Saying = (meant) =>
  `columns: {${meant.map(([heading, name]) => `${JSON.stringify(heading)}: ${name || '""'}`).join(', ')}} in bench.yaml`;

/** As an option of a command: `--columns "Temp=source_C,Temp 2=ambient_C"`. */
export const sayByOption: Saying = (meant) =>
  `--columns ${JSON.stringify(meant.map(([heading, name]) => `${heading}=${name}`).join(','))}`;

/**
 * Words of the trade for what a column holds, in English, German and French, without marks on letters, units and the words of
 * `counting`. A word under several names is settled by the unit or not at all.
 */
const words: Readonly<Record<string, string>> = {
  cooler: 'cooler|cpu cooler|heatsink|heat sink|model|product|kuhler|cpu kuhler|refroidisseur|ventirad',
  sample: 'sample|specimen|muster|exemplar|echantillon|exemplaire',
  mount: 'mount|mounting|fitting|montage|remount',
  run: 'run|lauf',
  session: 'session|sitzung|seance',
  method: 'method|procedure|methode',
  started: 'started|start|date|start time|date time|datum|beginn|debut',
  orientation: 'orientation|lage',
  paste: 'paste|thermal paste|tim|warmeleitpaste|pate|pate thermique',
  operator: 'operator|tester|technician|bediener|operateur',
  note: 'note|notes|comment|comments|remark|remarks|bemerkung|bemerkungen|kommentar|remarque|remarques',
  log: 'log|log file|file|datei|fichier',
  kind: 'kind|type|typ|art',
  source:
    'source|heat source|heater|heater temp|source temp|block|block temp|cpu|cpu temp|die|die temp|case temp|t source|t case|t cpu|t heater|temp source|temp cpu|temp|warmequelle|heizer|blocktemperatur|quelle|temp bloc|bloc',
  ambient:
    'ambient|ambient temp|ambient air|room|room temp|air|air temp|intake|inlet|intake temp|inlet temp|t amb|t ambient|t room|temp ambient|temp amb|temp|umgebung|raum|raumtemp|umgebungstemp|ambiante|temp ambiante|piece|air ambiant',
  rise: 'rise|temp rise|rise over ambient|rise above ambient|over ambient|above ambient|delta t|deltat|dt|δt|delta|delta temp|temp delta|delta over ambient|delta t over ambient|ubertemp|echauffement',
  power:
    'power|load|heat load|heat|heater power|input power|wattage|watts|watt|leistung|heizleistung|last|puissance|charge',
  fan: 'fan|fan speed|speed|rpm|fan rpm|lufter|lufterdrehzahl|drehzahl|ventilateur|vitesse|vitesse ventilateur',
  fan_duty: 'fan|fan speed|fan duty|duty|duty cycle|pwm|fan pwm|lufter|ventilateur',
  pump: 'pump|pump speed|pump rpm|pumpe|pumpendrehzahl|pompe|vitesse pompe',
  sound:
    'sound|noise|sound level|noise level|spl|sound pressure|sound pressure level|dba|lautstarke|schallpegel|schalldruck|pegel|bruit|niveau sonore',
  background: 'background|noise floor',
  coolant:
    'coolant|coolant temp|liquid|liquid temp|water|water temp|fluid|fluid temp|kuhlmittel|wasser|liquide',
  pressure: 'pressure|air pressure|barometer|luftdruck|pression',
  torque: 'torque|screw torque|drehmoment|couple',
  heat_pipes: 'heat pipes|heatpipes|pipes|heat pipe count|warmerohre|caloducs',
  heat_pipe_diameter: 'heat pipe diameter|heatpipe diameter|pipe diameter',
  base_thickness: 'base thickness|base',
  fan_max: 'fan max|max fan|max fan speed|fan max speed|maximum fan speed|max rpm|max speed',
  fan_min: 'fan min|min fan|min fan speed|fan min speed|minimum fan speed|min rpm|min speed',
  fans: 'fans|fan count|lufter|ventilateurs',
  price: 'price|cost|preis|prix',
  time: 'time|elapsed|elapsed time|t|seconds|timestamp|time stamp|date time|datetime|date/time|clock|uhrzeit|zeit|zeitstempel|temps|heure|horodatage',
  x: 'x',
  y: 'y',
  depth: 'depth|z|height|tiefe|profondeur',
};

/** Words behind or before a name that say no more than that it is one: "Mount #", "Cooler name". */
const counting = /\b(no|nr|num|number|id|name|nom|index|count|nummer|numero)\b|#|n°/g;

/** Units as people write them, in small letters, and as the bench's names end. */
// biome-ignore format: a table
const units: Readonly<Record<string, string>> = {
  '°c': 'C', celsius: 'C', 'deg c': 'C', degc: 'C', c: 'C',
  '°f': 'F', fahrenheit: 'F', 'deg f': 'F', degf: 'F', f: 'F',
  k: 'K', kelvin: 'K',
  w: 'W', watt: 'W', watts: 'W', kw: 'kW',
  rpm: 'rpm', 'u/min': 'rpm', upm: 'rpm', '1/min': 'rpm', 'min-1': 'rpm', 'tr/min': 'rpm', 'r/min': 'rpm', 'rev/min': 'rpm',
  '%': 'percent', percent: 'percent', pct: 'percent', prozent: 'percent',
  dba: 'dBA', 'db a': 'dBA', 'db(a)': 'dBA',
  mm: 'mm', cm: 'cm', um: 'um', µm: 'um', μm: 'um',
  hpa: 'hPa', mbar: 'mbar', kpa: 'kPa', pa: 'Pa',
  s: 's', sec: 's', secs: 's', second: 's', seconds: 's', sek: 's', min: 'min', minutes: 'min', h: 'h', hours: 'h', ms: 'ms',
  nm: 'Nm', 'n·m': 'Nm', 'n m': 'Nm', ncm: 'Ncm',
};

/** Words that are near a known name and mean something of their own. */
const ownMeaning = new Set(['fins', 'fin', 'mass', 'rack', 'bank']);

/** Capitals, marks on letters and signs between words taken off. */
function plainWords(text: string): string {
  return text
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replace(/[\s_.:;,·-]+/g, ' ')
    .trim();
}

interface Parts {
  readonly head: string;
  /** As it is written; `undefined`: none, or a remark in brackets. */
  readonly unit?: string;
}

/** A heading as words and unit, in the ways in which it may be parted. */
function partings(heading: string): Parts[] {
  const text = heading
    .normalize('NFKC')
    .replace(/db\s*[([]\s*a\s*[)\]]/gi, 'dBA')
    .trim();
  const found: Parts[] = [{ head: text }];
  const brackets = /^(.*?)[\s_]*[([{]\s*([^)\]}]*?)\s*[)\]}]\s*$/.exec(text);
  if (brackets) found.push({ head: brackets[1], ...(isUnit(brackets[2]) && { unit: brackets[2] }) });
  const behind = /^(.*?)\s*(?:[,/_:-]|\s|\bin\b)\s*([^\s,_:()[\]{}]+)$/.exec(text);
  if (behind) found.push({ head: behind[1].replace(/\bin$/, ''), unit: behind[2] });
  const slashed = /^(.*?\S)\s*\/\s*(.+)$/.exec(text);
  if (slashed) found.push({ head: slashed[1], unit: slashed[2] });
  found.push({ head: text, unit: text });
  return found;
}

/** The ways in which a heading's words may be meant: without counting words, joined temperatures parted. */
function headWords(head: string): Set<string> {
  const whole = plainWords(head)
    .replace(/\btemperature?\b|\btemperatur\b/g, 'temp')
    .replace(/\bcelsius\b/g, '')
    .trim();
  const counted = whole.replace(counting, ' ').replace(/\s+/g, ' ').trim();
  const joined = /^(.+)temperatur$/.exec(counted);
  return new Set([whole, counted, ...(joined ? [joined[1], `${joined[1]}temp`] : [])]);
}

/** The bench's suffix for a unit as people write it, where the quantity has it. */
function unitOf(quantity: Quantity, written: string): string | undefined {
  const { units: known }: Dimension = dimensions[quantity.dimension];
  if (known.some((one) => one.suffix === written)) return written;
  const read = units[written.toLowerCase().replace(/\s+/g, ' ')];
  // A difference of one degree Celsius is one kelvin.
  const suffix = read === 'C' && quantity.dimension === 'difference' ? 'K' : read;
  return known.some((one) => one.suffix === suffix) ? suffix : undefined;
}

interface Reading {
  /** Names that the column may have. */
  readonly names: Set<string>;
  /** Quantities that it would be if it had a unit of theirs. */
  readonly without: Set<Quantity>;
}

/** Everything that a heading may be. */
function readingsOf(heading: string, plan: Headable, numeric: boolean): Reading {
  const names = new Set<string>();
  const without = new Set<Quantity>();
  for (const { head, unit } of partings(heading)) {
    const heads = headWords(head);
    const means = (name: string) => {
      const known = words[name]?.split('|') ?? [];
      return [...heads].some((one) => one !== '' && (known.includes(one) || one === plainWords(name)));
    };
    if (unit === undefined) {
      for (const { name } of plan.texts) {
        const alsoNumber = plan.numbers.some(({ quantity }) => quantity === name);
        if (means(name) && !(alsoNumber && numeric)) names.add(name);
      }
    }
    for (const quantity of plan.numbers) {
      if (!means(quantity.quantity)) continue;
      if (quantity.dimension === 'plain') {
        if (unit === undefined) names.add(quantity.quantity);
        continue;
      }
      const suffix = unit === undefined ? undefined : unitOf(quantity, unit);
      if (suffix !== undefined) names.add(`${quantity.quantity}_${suffix}`);
      else if (numeric) without.add(quantity);
    }
  }
  // A reading with its unit settles what the words alone would leave open.
  for (const quantity of without) {
    const settled = [...names].some((name) => readName(name, [quantity]).kind === 'read');
    if (settled || [...names].some((name) => plan.numbers.some((n) => readName(name, [n]).kind === 'read')))
      without.delete(quantity);
  }
  return { names, without };
}

function isUnit(text: string): boolean {
  return (
    text !== '' &&
    (Object.hasOwn(units, text.toLowerCase().replace(/\s+/g, ' ')) ||
      text === 'dB' ||
      Object.values(dimensions).some(({ units: known }) => known.some((one) => one.suffix === text)))
  );
}

/**
 * Which column is which, by headings as people write them.
 *
 * A name of the bench, `power_kW`, stands for itself, and `columns` of bench.yaml comes before all. Any other heading
 * is mapped where its words and unit can mean one column of the table only; one that can mean two, that lacks a unit, or that is
 * all but a known name is refused with the choice. What is left is carried along.
 *
 * @example
 * readHeadings(['Cooler', 'Load (W)'], runsPlan, options).names // ['cooler', 'power_W']
 */
export function readHeadings(headings: readonly string[], plan: Headable, options: HeadingOptions): Headings {
  const { columns } = options;
  const table = new HeadingReader(headings, plan, options);
  const understood: string[] = [];
  headings.forEach((heading, index) => {
    if (heading === '') return;
    const name = table.names[index];
    if (statedFor(heading, columns) !== undefined)
      understood.push(`${shown(heading)} ${name ? `as ${name}` : 'unread'}`);
    else if (name === undefined) understood.push(...table.settle(index));
  });
  return { names: table.names, understood };
}

/** The headings of one table on the way to names. */
class HeadingReader {
  readonly names: (string | undefined)[];
  private readonly headings: readonly string[];
  private readonly plan: Headable;
  private readonly options: HeadingOptions;
  private readonly saying: Saying;
  private readonly texts: ReadonlySet<string>;
  private readonly taken: ReadonlySet<string>;
  private readonly mappedBy = new Map<string, string>();

  constructor(headings: readonly string[], plan: Headable, options: HeadingOptions) {
    this.headings = headings;
    this.plan = plan;
    this.options = options;
    this.saying = options.saying ?? sayInYaml;
    this.texts = new Set(plan.texts.map((text) => text.name));
    this.names = headings.map((heading) => {
      const stated = statedFor(heading, options.columns);
      if (stated !== undefined) return stated === '' ? undefined : stated;
      return this.key(heading).startsWith('other ') ? undefined : heading;
    });
    this.taken = new Set(this.names.flatMap((name) => (name === undefined ? [] : [this.key(name)])));
  }

  /** One key for all names of a quantity, whatever its unit. */
  private key(name: string): string {
    if (this.texts.has(name)) return `text ${name}`;
    const reading = readName(name, this.plan.numbers);
    return reading.kind === 'read' ? benchName(reading.quantity) : `other ${name}`;
  }

  /** Names a column whose heading is no name of the bench, where it can mean one thing only; what was understood. */
  settle(index: number): string[] {
    const heading = this.headings[index];
    const { refuse } = this.options;
    const reading = this.readingOf(index);
    const may = [...reading.names];
    const free = may.filter((name) => !this.taken.has(this.key(name)));
    if (free.length > 0 && may.length > 1) {
      throw refuse(index, `column ${shown(heading)} may be ${listed(may)}; ${this.remedy(heading, free[0])}`);
    }
    if (free.length === 1) {
      const [name] = free;
      const earlier = this.mappedBy.get(this.key(name));
      if (earlier !== undefined) {
        const how = this.saying([
          [earlier, name],
          [heading, ''],
        ]);
        throw refuse(
          index,
          `columns ${shown(earlier)} and ${shown(heading)} may both be ${name}; say which one is: ${how}`,
        );
      }
      this.mappedBy.set(this.key(name), heading);
      this.names[index] = name;
      return [`${shown(heading)} as ${name}`];
    }
    if (may.length > 0) return [`${shown(heading)} unread beside ${listed(may)}`];
    this.refuseWithoutUnit(index, reading);
    if (reading.without.size > 0 || readName(heading, this.plan.numbers).kind !== 'other') return [];
    const near = nearlyNamed(heading, this.plan, (name) => this.taken.has(this.key(name)));
    if (near === undefined) return [];
    throw refuse(
      index,
      `column ${shown(heading)} is nearly ${near}; ${this.remedy(heading, near)} (no name to carry it along unread)`,
    );
  }

  private readingOf(index: number): Reading {
    return readingsOf(this.headings[index], this.plan, this.options.numeric(index));
  }

  private remedy(heading: string, name: string): string {
    return `rename it, or say what it is: ${this.saying([[heading, name]])}`;
  }

  /** What a column would be if its heading had a unit; empty where it is read some other way. */
  private lackingOf(index: number, { names, without } = this.readingOf(index)): Quantity[] {
    if (names.size > 0 || readName(this.headings[index], this.plan.numbers).kind !== 'other') return [];
    return [...without].filter((quantity) => !this.taken.has(benchName(quantity)));
  }

  /** The refusal names every column of the table that lacks its unit, so that all are mended at once. */
  private refuseWithoutUnit(index: number, reading: Reading): void {
    const lacking = this.lackingOf(index, reading);
    if (lacking.length === 0) return;
    const meant = this.headings.flatMap((words, at): [string, string][] => {
      const isNamed = this.names[at] !== undefined || statedFor(words, this.options.columns) !== undefined;
      const [quantity] = words === '' || isNamed ? [] : this.lackingOf(at);
      return quantity ? [[words, acceptedNames(quantity)[0]]] : [];
    });
    throw this.options.refuse(
      index,
      `column ${shown(this.headings[index])} has no unit that is read; write ${listed(lacking.flatMap(acceptedNames))}, or say what it is: ${this.saying(meant)}`,
    );
  }
}

/** What `columns` of bench.yaml says of a heading. */
export function statedFor(heading: string, columns?: Readonly<Record<string, string>>): string | undefined {
  return columns && Object.hasOwn(columns, heading) ? columns[heading] : undefined;
}

/** The known name that a heading all but is, where no column has it yet. */
function nearlyNamed(
  heading: string,
  plan: Headable,
  isTaken: (name: string) => boolean,
): string | undefined {
  const known = [...plan.texts.map((text) => text.name), ...plan.numbers.flatMap(acceptedNames)].filter(
    (name) => !isTaken(name),
  );
  const plain = plainWords(heading);
  if (ownMeaning.has(plain)) return undefined;
  // A name with a word of its own behind it, paste_batch, is meant as it is.
  const first = plain.split(' ')[0];
  if (plain.includes(' ') && known.some((name) => name.split('_')[0] === first)) return undefined;
  const squeezed = new Map(known.map((name) => [name.toLowerCase().replaceAll('_', ''), name]));
  const near = nearestName(plain.replaceAll(' ', ''), squeezed.keys());
  return near === undefined ? undefined : squeezed.get(near);
}
