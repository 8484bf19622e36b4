/**
 * Reading a model file.
 *
 * A file holds `name`, `title`, `source`, optionally `range`, `kind` (air or liquid) and `limit` (the parameter that is the load of a pipe limit), `inputs` (name: unit), `parameters` (name: unit, start,
 * optionally low, high, own: true and prior: {mean, standard_deviation}) and `resistance`, a formula in K/W. Every key and
 * number is checked where it stands, so that the first fault is named by line and column.
 */
import { isScalar, type Node } from 'yaml';
import { BenchError } from '../bench/bench-error.ts';
import { type YamlEntry, YamlFile } from '../bench/yaml-file.ts';
import { createEvaluator } from './evaluate.ts';
import {
  MODEL_INPUTS,
  type Model,
  type ModelInput,
  type ModelParameter,
  type ParameterPrior,
} from './model.ts';
import { formulaSymbols, type ParsedFormula, parseFormulaTree } from './parse.ts';
import type { FormulaSource } from './scan.ts';
import { type Dimension, dimensionOf, proveResistance } from './units.ts';
import { nameFault } from './words.ts';

const LONGEST_FILE = 20_000;
const MOST_PARAMETERS = 40;

const REQUIRED = ['name', 'title', 'source', 'inputs', 'parameters', 'resistance'];
const OPTIONAL = ['range', 'limit', 'kind'];

/**
 * The model of a file's text.
 *
 * @param text  the file, YAML
 * @param file  its name, for messages
 * @throws BenchError at the first fault
 */
export function readModel(text: string, file: string): Model {
  if (text.length > LONGEST_FILE) {
    const what = `the file has ${text.length} characters; at most ${LONGEST_FILE} are accepted`;
    throw new BenchError(file, 1, 1, what);
  }
  const reader = new YamlFile(file, text);
  const entries = reader.entries(reader.root, 'a model file', REQUIRED, OPTIONAL);
  const at = (key: string): YamlEntry => entries.get(key) as YamlEntry;
  const name = textOf(reader, at('name'), 'name');
  if (!/^[A-Za-z0-9_-]+$/.test(name)) {
    throw reader.fault(at('name').value, `name is “${name}”; letters, digits, _ and - are accepted`);
  }
  const title = textOf(reader, at('title'), 'title');
  const source = textOf(reader, at('source'), 'source');
  const range = entries.has('range') ? textOf(reader, at('range'), 'range') : undefined;
  const dimensions = new Map<string, Dimension>();
  const inputs = readInputs(reader, at('inputs'), dimensions);
  const parameters = readParameters(reader, at('parameters'), dimensions);
  const limit = entries.has('limit') ? readLimit(reader, at('limit'), parameters) : undefined;
  const kind = entries.has('kind') ? readKind(reader, at('kind')) : undefined;
  const resistanceText = textOf(reader, at('resistance'), 'resistance');
  const formulaSource = placesOf(reader, at('resistance').value as Node, resistanceText);
  const names = { inputs, parameters: parameters.map((parameter) => parameter.name) };
  const parsed = parseFormulaTree(resistanceText, names, formulaSource);
  checkAllUsed(reader, at('parameters'), resistanceText, formulaSource);
  prove(parsed, dimensions, formulaSource);
  const model: Model = {
    name,
    title,
    source,
    ...(range === undefined ? {} : { range }),
    ...(limit === undefined ? {} : { limit }),
    ...(kind === undefined ? {} : { kind }),
    inputs,
    parameters,
    resistanceText: resistanceText.trim().replace(/\s+/g, ' '),
    program: parsed.program,
  };
  checkStart(reader, at('resistance'), model);
  return model;
}

/** Inputs that the tool has, each in its unit. */
function readInputs(reader: YamlFile, entry: YamlEntry, dimensions: Map<string, Dimension>): ModelInput[] {
  const accepted = Object.entries(MODEL_INPUTS).map(
    ([name, unit]) => `${name}: ${unit === '1' ? '"1"' : unit}`,
  );
  const inputs = reader.entries(reader.map(entry, 'inputs'), 'inputs', [], Object.keys(MODEL_INPUTS));
  for (const [name, { key, value }] of inputs) {
    const wanted = MODEL_INPUTS[name as ModelInput];
    const unit = isScalar(value) ? String(value.value) : '';
    if (unit !== wanted) {
      throw reader.fault(
        value ?? key,
        `the unit of ${name} is “${wanted}”; inputs are {${accepted.join(', ')}}`,
      );
    }
    dimensions.set(name, (dimensionOf(wanted) as { dimension: Dimension }).dimension);
  }
  return [...inputs.keys()] as ModelInput[];
}

/** All parameters, their dimensions noted. */
function readParameters(
  reader: YamlFile,
  entry: YamlEntry,
  dimensions: Map<string, Dimension>,
): ModelParameter[] {
  const map = reader.map(entry, 'parameters');
  const parameters = reader.entries(map, 'parameters');
  if (parameters.size === 0 || parameters.size > MOST_PARAMETERS) {
    throw reader.fault(map, `there are ${parameters.size} parameters; 1 to ${MOST_PARAMETERS} are accepted`);
  }
  return [...parameters].map(([name, each]) => {
    const fault = nameFault(name);
    if (fault !== undefined) throw reader.fault(each.key, fault);
    if (Object.hasOwn(MODEL_INPUTS, name)) {
      throw reader.fault(each.key, `“${name}” is the name of an input; a parameter needs another`);
    }
    return readParameter(reader, name, each, dimensions);
  });
}

/** The kind of cooler that a model is for. */
function readKind(reader: YamlFile, entry: YamlEntry): 'air' | 'liquid' {
  const kind = textOf(reader, entry, 'kind');
  if (kind !== 'air' && kind !== 'liquid') {
    throw reader.fault(entry.value, `kind is “${kind}”; air or liquid is accepted`);
  }
  return kind;
}

/** The parameter that is a limit, which has to be in W. */
function readLimit(reader: YamlFile, entry: YamlEntry, parameters: readonly ModelParameter[]): string {
  const limit = textOf(reader, entry, 'limit');
  if (!parameters.some((parameter) => parameter.name === limit && parameter.unit === 'W')) {
    throw reader.fault(entry.value, `limit is “${limit}”; the name of a parameter in W is accepted`);
  }
  return limit;
}

/** A parameter: unit, start, bounds and prior, each within the other. */
function readParameter(
  reader: YamlFile,
  name: string,
  entry: YamlEntry,
  dimensions: Map<string, Dimension>,
): ModelParameter {
  const entries = reader.entries(
    reader.map(entry, name),
    name,
    ['unit', 'start'],
    ['low', 'high', 'prior', 'own'],
  );
  const number = (key: string): number | undefined => {
    const found = entries.get(key);
    return found === undefined ? undefined : reader.number(found, `${key} of ${name}`);
  };
  const unitEntry = entries.get('unit') as YamlEntry;
  const unit =
    isScalar(unitEntry.value) && unitEntry.value.value === 1
      ? '1'
      : textOf(reader, unitEntry, `unit of ${name}`);
  const dimension = dimensionOf(unit);
  if ('fault' in dimension) throw reader.fault(unitEntry.value, dimension.fault);
  dimensions.set(name, dimension.dimension);
  const start = number('start') as number;
  const low = number('low');
  const high = number('high');
  if (low !== undefined && high !== undefined && low >= high) {
    throw reader.fault(
      (entries.get('low') as YamlEntry).value,
      `low of ${name} is ${low}; less than its high, ${high}, is needed`,
    );
  }
  const within = boundsInWords(low, high);
  if (start < (low ?? -Infinity) || start > (high ?? Infinity)) {
    throw reader.fault(
      (entries.get('start') as YamlEntry).value,
      `start of ${name} is ${start}; ${within} is needed`,
    );
  }
  const ownEntry = entries.get('own');
  const own = ownEntry !== undefined && isScalar(ownEntry.value) ? ownEntry.value.value : undefined;
  if (ownEntry && typeof own !== 'boolean') {
    throw reader.fault(ownEntry.value ?? ownEntry.key, `own of ${name} is not true or false`);
  }
  const priorEntry = entries.get('prior');
  const prior = priorEntry === undefined ? undefined : readPrior(reader, name, priorEntry, low, high, within);
  return {
    name,
    unit,
    start,
    ...(low === undefined ? {} : { low }),
    ...(high === undefined ? {} : { high }),
    ...(prior === undefined ? {} : { prior }),
    ...(own === true ? { own } : {}),
  };
}

/** A prior whose mean lies within the bounds. */
function readPrior(
  reader: YamlFile,
  name: string,
  entry: YamlEntry,
  low: number | undefined,
  high: number | undefined,
  within: string,
): ParameterPrior {
  const what = `prior of ${name}`;
  const entries = reader.entries(reader.map(entry, what), what, ['mean', 'standard_deviation'], []);
  const meanEntry = entries.get('mean') as YamlEntry;
  const deviationEntry = entries.get('standard_deviation') as YamlEntry;
  const mean = reader.number(meanEntry, `mean of the ${what}`);
  const standardDeviation = reader.number(deviationEntry, `standard_deviation of the ${what}`);
  if (mean < (low ?? -Infinity) || mean > (high ?? Infinity)) {
    throw reader.fault(meanEntry.value, `mean of the ${what} is ${mean}; ${within} is needed`);
  }
  if (standardDeviation <= 0) {
    throw reader.fault(
      deviationEntry.value,
      `standard_deviation of the ${what} is ${standardDeviation}; a number above 0 is needed`,
    );
  }
  if (standardDeviation < LEAST_SHARE * Math.abs(mean)) {
    const stated = `standard_deviation of the ${what} is ${standardDeviation}, less than ${LEAST_SHARE} of its mean`;
    throw reader.fault(
      deviationEntry.value,
      `${stated}: such a parameter is known; write ${mean} into the resistance, or give at least ${LEAST_SHARE * Math.abs(mean)}`,
    );
  }
  return { mean, standardDeviation };
}

/** What bounds accept, in words. */
function boundsInWords(low: number | undefined, high: number | undefined): string {
  if (low === undefined) return `a number up to ${high}`;
  return high === undefined ? `a number from ${low}` : `a number from ${low} to ${high}`;
}

/** Refuses a parameter or input that the formula does not use. */
function checkAllUsed(reader: YamlFile, entry: YamlEntry, text: string, source: FormulaSource): void {
  const used = new Set(formulaSymbols(text, source));
  for (const [name, { key }] of reader.entries(reader.map(entry, 'parameters'), 'parameters')) {
    if (!used.has(name)) {
      throw reader.fault(
        key,
        `the parameter ${name} does not occur in resistance; use it there or remove it`,
      );
    }
  }
}

/** Refuses a formula whose dimension is not K/W, at its place. */
function prove(parsed: ParsedFormula, dimensions: Map<string, Dimension>, source: FormulaSource): void {
  const fault = proveResistance(parsed.tree, dimensions);
  if (fault === undefined) return;
  const { line, column } = (source.place as NonNullable<FormulaSource['place']>)(fault.offset);
  throw new BenchError(source.file, line, column, fault.what);
}

/** A fit cannot begin where the formula gives no number. */
/** A prior narrower than this share of its mean leaves nothing to fit, and its precision drowns what the runs say. */
const LEAST_SHARE = 1e-4;

/** Refuses starts at which the resistance is no positive number. */
function checkStart(reader: YamlFile, entry: YamlEntry, model: Model): void {
  const out = new Float64Array(1);
  const columns = model.inputs.map((input) => Float64Array.of(input === 'P' ? 100 : 1));
  createEvaluator(model.program).values(
    columns,
    model.parameters.map((parameter) => parameter.start),
    out,
  );
  if (!(out[0] > 0 && Number.isFinite(out[0]))) {
    throw reader.fault(
      entry.value,
      `at the start values, P = 100 W and all else 1 the resistance is ${out[0]} K/W; a positive number is needed`,
    );
  }
}

/** A text that is not a number; only the formula may be one, and is read as it is written. */
function textOf(reader: YamlFile, entry: YamlEntry, what: string): string {
  const { key, value } = entry;
  if (isScalar(value) && typeof value.value === 'string' && value.value.trim() !== '') return value.value;
  if (isScalar(value) && what === 'resistance' && typeof value.value === 'number')
    return value.source as string;
  throw reader.fault(value ?? key, `${what} needs a text`);
}

/**
 * Places in a formula as places in the file. Folding changes only the white space of a text, so the k-th other
 * character of the formula is the k-th of the file's text after its block header or opening quote.
 */
function placesOf(reader: YamlFile, node: Node, formula: string): FormulaSource {
  const [begin, end] = node.range as [number, number, number];
  const raw = reader.text.slice(begin, end);
  const header = /^(?:[|>][^\n]*\n|["'])/.exec(raw)?.[0].length ?? 0;
  return {
    file: reader.file,
    place: (offset) => {
      let waiting = formula.slice(0, offset).replace(/\s/g, '').length;
      let at = header;
      while (at < raw.length && (waiting > 0 || /\s/.test(raw[at]))) {
        if (!/\s/.test(raw[at])) waiting--;
        at++;
      }
      const atEnd = at >= raw.length;
      return reader.place(begin + (atEnd ? raw.trimEnd().length : at));
    },
  };
}
