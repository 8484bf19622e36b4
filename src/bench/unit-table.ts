/**
 * The units a column or key may carry in its name, each with the factor that takes it to the bench's own unit.
 *
 * `value in the bench's unit = factor · value + offset`. The factors are facts of the SI and of the 1959 inch and
 * pound; every one is held against a general-purpose unit library by a test (`reference` is what that library calls
 * the unit; an empty one says that the library does not know it and a note says where the factor comes from).
 */
export interface Unit {
  /** As it stands after the last word of the quantity: the `kW` of `power_kW`. */
  readonly suffix: string;
  readonly factor: number;
  readonly offset: number;
  readonly reference: string;
}

/** A dimension: the bench's own unit first, then the others that are read. */
export interface Dimension {
  /** For messages: "power". */
  readonly what: string;
  readonly units: readonly Unit[];
  /** The bench's own unit in the notation of the unit library; empty: no other unit can be converted. */
  readonly reference: string;
}

/** International inch and pound-force (NIST SP 811). */
const inch_mm = 25.4;
const poundForce_N = 0.45359237 * 9.80665;
const unit = (suffix: string, factor: number, reference: string, offset = 0): Unit => ({
  suffix,
  factor,
  offset,
  reference,
});

const lengths: readonly Unit[] = [
  unit('mm', 1, 'mm'),
  unit('um', 1e-3, 'um'),
  unit('nm', 1e-6, 'nm'),
  unit('cm', 10, 'cm'),
  unit('m', 1000, 'm'),
  unit('in', inch_mm, 'in'),
  unit('inch', inch_mm, 'inch'),
  unit('mil', inch_mm / 1000, 'mil'),
  unit('ft', 12 * inch_mm, 'ft'),
];

export const dimensions = {
  power: {
    what: 'power',
    reference: 'W',
    units: [
      unit('W', 1, 'W'),
      unit('mW', 1e-3, 'mW'),
      unit('kW', 1e3, 'kW'),
      unit('MW', 1e6, 'MW'),
      unit('hp', 550 * 12 * (inch_mm / 1000) * poundForce_N, 'hp'),
    ],
  },
  /** A point on the temperature scale, as in `source_C`. */
  temperature: {
    what: 'temperature',
    reference: 'degC',
    units: [
      unit('C', 1, 'degC'),
      unit('F', 5 / 9, 'degF', (-32 * 5) / 9),
      unit('K', 1, 'K', -273.15),
      unit('degC', 1, 'degC'),
      unit('degF', 5 / 9, 'degF', (-32 * 5) / 9),
    ],
  },
  /** A limit on the temperature scale. `K` stands for a difference in such names and is not read. */
  limit: {
    what: 'temperature limit (K would be a difference)',
    reference: '',
    units: [
      unit('C', 1, 'degC'),
      unit('F', 5 / 9, 'degF', (-32 * 5) / 9),
      unit('degC', 1, 'degC'),
      unit('degF', 5 / 9, 'degF', (-32 * 5) / 9),
    ],
  },
  difference: {
    what: 'temperature difference',
    reference: '',
    units: [unit('K', 1, 'K'), unit('mK', 1e-3, 'mK')],
  },
  time: {
    what: 'time',
    reference: 's',
    units: [
      unit('s', 1, 's'),
      unit('ms', 1e-3, 'ms'),
      unit('min', 60, 'minute'),
      unit('h', 3600, 'hour'),
      unit('sec', 1, 's'),
      unit('minutes', 60, 'minute'),
      unit('hours', 3600, 'hour'),
      unit('day', 86400, 'day'),
    ],
  },
  length: { what: 'length', reference: 'mm', units: lengths },
  /** A depth, for which micrometres are the unit of the trade. */
  depth: {
    what: 'depth',
    reference: 'um',
    units: [
      unit('um', 1, 'um'),
      ...lengths.filter((l) => l.suffix !== 'um').map((l) => unit(l.suffix, l.factor * 1000, l.reference)),
    ],
  },
  /** A height above the sea, for which metres are the unit of the trade. */
  height: {
    what: 'height',
    reference: 'm',
    units: [unit('m', 1, 'm'), unit('ft', (12 * inch_mm) / 1000, 'ft'), unit('km', 1000, 'km')],
  },
  pressure: {
    what: 'pressure',
    reference: 'hPa',
    units: [
      unit('hPa', 1, 'hPa'),
      unit('Pa', 0.01, 'Pa'),
      unit('kPa', 10, 'kPa'),
      unit('MPa', 1e4, 'MPa'),
      unit('mbar', 1, 'mbar'),
      unit('bar', 1000, 'bar'),
      unit('atm', 1013.25, 'atm'),
      unit('psi', poundForce_N / (inch_mm / 1000) ** 2 / 100, 'psi'),
      // The conventional millimetre of mercury is 13.5951 · 9.80665 Pa; the library rounds it to 133.322 Pa.
      unit('mmHg', 1.33322, 'mmHg'),
    ],
  },
  torque: {
    what: 'torque',
    reference: 'N m',
    units: [
      unit('Nm', 1, 'N m'),
      unit('Ncm', 0.01, 'N cm'),
      unit('Nmm', 1e-3, 'N mm'),
      unit('mNm', 1e-3, 'mN m'),
      unit('kgf_cm', 9.80665e-2, 'kgf cm'),
      unit('kgf_m', 9.80665, 'kgf m'),
      unit('in_lbf', (inch_mm / 1000) * poundForce_N, 'lbf in'),
      unit('inch_lbf', (inch_mm / 1000) * poundForce_N, 'lbf in'),
      unit('lbf_in', (inch_mm / 1000) * poundForce_N, 'lbf in'),
      unit('ft_lbf', 12 * (inch_mm / 1000) * poundForce_N, 'lbf ft'),
      unit('lbf_ft', 12 * (inch_mm / 1000) * poundForce_N, 'lbf ft'),
    ],
  },
  conductance: {
    what: 'heat loss per kelvin',
    reference: 'W/K',
    units: [unit('W_per_K', 1, 'W/K'), unit('mW_per_K', 1e-3, 'mW/K'), unit('kW_per_K', 1e3, 'kW/K')],
  },
  /** Revolutions. Hz and rps count revolutions per second, not the pulses of a tachometer. */
  speed: {
    what: 'speed of rotation',
    reference: '',
    units: [unit('rpm', 1, '1/minute'), unit('rps', 60, '1/s'), unit('Hz', 60, 'Hz')],
  },
  level: { what: 'A-weighted sound level', reference: '', units: [unit('dBA', 1, '')] },
  levelDifference: { what: 'level difference', reference: '', units: [unit('dB', 1, '')] },
  /** A bare number without a unit in its name, as `fans`. */
  plain: { what: 'number', reference: '', units: [unit('', 1, '')] },
  share: { what: 'share in per cent', reference: '', units: [unit('percent', 1, '')] },
} as const satisfies Record<string, Dimension>;

export type DimensionName = keyof typeof dimensions;
