import { groupedBy } from '../bench/grouped.ts';
import { distinctMounts } from '../bench/mounts.ts';
import { sourceOf } from '../bench/source.ts';
import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { MOUNT, READING, SAMPLE, SESSION } from '../fit/components.ts';
import type { CurvePosterior } from '../fit/curve-posterior.ts';
import type { ScatterComponent } from '../fit/scatter.ts';
import { normalQuantile } from '../numerics/distributions.ts';
import { mixtureDeviation, mixtureMean } from '../numerics/mixture.ts';
import { riseDistributions } from './rise-distribution.ts';
import { sharedUncertainties, sharedVariance } from './shared-errors.ts';

export interface ParameterEstimate {
  value: number;
  standard_error: number;
  unit: string;
}

export interface ModelFit {
  model: string;
  title: string;
  weight: number;
  converged: boolean;
  /** Empty when converged. */
  reason: string;
  parameters: Record<string, ParameterEstimate>;
  warnings: string[];
}

export interface CoolerFit {
  cooler: string;
  kind: 'air' | 'liquid';
  runs: number;
  /** Fittings; a run without `mount` counts as one of its own. */
  mounts: number;
  runs_without_mount: number;
  samples: number;
  power_low_W: number;
  power_high_W: number;
  /** Resistance into the air at the greatest load run and full speed, model average. */
  resistance_K_per_W: number;
  resistance_u_K_per_W: number;
  models: ModelFit[];
  /** What was borrowed from the other coolers or assumed, in words. */
  notes: string[];
}

export interface Scatter {
  mount_K_per_W: ScatterComponent;
  sample_K_per_W: ScatterComponent;
  session_K_per_W: ScatterComponent;
  reading_K: ScatterComponent;
}

export interface Fitted {
  bench: string;
  coolers: CoolerFit[];
  scatter: Scatter;
  warnings: string[];
}

/** The posterior as parameters, weights and scatters for people and scripts. */
export function fitResultOf(posterior: BenchPosterior, coolers: readonly CoolerPosterior[]): Fitted {
  const component = (k: number): ScatterComponent => scatterComponent(posterior, k);
  return {
    bench: posterior.bench.name,
    coolers: coolers.map((cooler) => coolerFit(posterior, cooler)),
    scatter: {
      mount_K_per_W: component(MOUNT),
      sample_K_per_W: component(SAMPLE),
      session_K_per_W: component(SESSION),
      reading_K: component(READING),
    },
    warnings: [...posterior.warnings],
  };
}

/** σ with its 95 % interval on the logarithmic scale. */
function scatterComponent(posterior: BenchPosterior, k: number): ScatterComponent {
  const { sigma, logVarianceCovariance, assumed } = posterior.scatter;
  const half = (normalQuantile(0.975) * Math.sqrt(logVarianceCovariance[k * sigma.length + k])) / 2;
  return {
    value: sigma[k],
    low: sigma[k] * Math.exp(-half),
    high: sigma[k] * Math.exp(half),
    assumed: assumed[k],
  };
}

/** A cooler's resistance at the greatest load and speed run, and its models by weight. */
function coolerFit(posterior: BenchPosterior, cooler: CoolerPosterior): CoolerFit {
  const { data } = cooler;
  const mounts = distinctMounts(data.runs).length;
  const [top] = riseDistributions(posterior, cooler, [{ power_W: data.powerHigh_W, speed: data.speedHigh }]);
  const rise_K = mixtureMean(top.mean);
  const base_W = data.powerHigh_W - sourceOf(posterior.bench, posterior.source).leak_W_per_K.value * rise_K;
  // A chip's term has errors that all coolers share.
  const shared = posterior.term ? sharedVariance(top.meanSensitivity, sharedUncertainties(posterior)) : 0;
  return {
    cooler: data.cooler.cooler,
    kind: data.cooler.kind,
    runs: data.runs.length,
    mounts,
    runs_without_mount: data.runs.filter((run) => run.mount === undefined).length,
    samples: new Set(data.sample).size,
    power_low_W: data.powerLow_W,
    power_high_W: data.powerHigh_W,
    resistance_K_per_W: rise_K / base_W,
    resistance_u_K_per_W: Math.hypot(mixtureDeviation(top.mean), Math.sqrt(shared)) / top.loading_W,
    models: [...groupedBy(cooler.curves.keys(), (m) => cooler.curves[m].curve).values()].map((own) =>
      modelFit(
        own.map((m) => cooler.curves[m]),
        own.map((m) => cooler.weights[m]),
      ),
    ),
    notes: [...cooler.notes],
  };
}

/**
 * A formula's fit in the model's own units, over the places of its limit where it has one; a parameter fitted as its logarithm has the
 * standard error value·u.
 */
function modelFit(fitted: readonly CurvePosterior[], weights: readonly number[]): ModelFit {
  const weight = weights.reduce((sum, w) => sum + w, 0);
  const heaviest = fitted[weights.indexOf(Math.max(...weights))];
  const { model, scales } = heaviest.curve;
  const share = Float64Array.from(weights, (w, k) =>
    weight > 0 ? w / weight : Number(fitted[k] === heaviest),
  );
  const p = heaviest.eta.length;
  const parameters: Record<string, ParameterEstimate> = {};
  model.parameters.forEach((parameter, j) => {
    const over = {
      weight: share,
      mean: Float64Array.from(fitted, ({ eta }) => eta[j]),
      deviation: Float64Array.from(fitted, ({ covariance }) => Math.sqrt(covariance[j * p + j])),
    };
    const [middle, deviation] = [mixtureMean(over), mixtureDeviation(over)];
    const value = scales[j].logarithmic ? Math.exp(middle) : middle;
    parameters[parameter.name] = {
      value,
      standard_error: scales[j].logarithmic ? value * deviation : deviation,
      unit: parameter.unit,
    };
  });
  return {
    model: model.name,
    title: model.title,
    weight,
    converged: heaviest.converged,
    reason: heaviest.reason,
    parameters,
    warnings: [...heaviest.warnings],
  };
}

/** Models lighter than this are left to the JSON. */
const LEAST_SHOWN_WEIGHT = 0.01;

/** The models of a cooler that are shown, the heaviest first: with it those of some weight and those that did not converge. */
export function shownModels({ models }: Pick<CoolerFit, 'models'>): ModelFit[] {
  return [...models]
    .sort((x, y) => y.weight - x.weight)
    .filter((m, i) => i === 0 || m.weight >= LEAST_SHOWN_WEIGHT || !m.converged);
}
