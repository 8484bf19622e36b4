/**
 * Temperature of the upper face of a plate stack under evenly heated rectangles, anywhere and of any size.
 *
 * The double Fourier series over the plate's patterns converges slowly, as 1/(kβ) times the source's own pattern, and
 * at a point under a source's edge it takes hundreds of thousands of terms for six digits. Two steps make it quick and
 * its end known: `1/β = (2/√π)·∫ exp(−β²s²) ds` is split at a length η. The part with s > η is a series whose terms
 * fall as exp(−β²η²); the part with s < η is heat that has spread no farther than η from the source and is summed over
 * the nearest mirror images of the source in the plate's edges, one integral over s. What the finite thickness adds
 * falls as exp(−2βt). So the terms left out are bounded by an integral, and that bound is returned.
 */
import { erf, erfc, erfcIntegral } from '../numerics/error-function.ts';
import { integrate } from '../numerics/quadrature.ts';
import { checkPlate, impedanceBeyondHalfSpace, type Plate, seriesImpedance } from './plate.ts';
import { area_mm2, type HeatPatch, type Point, type Rectangle, requirePositive } from './rectangle.ts';

export interface PlateRise {
  /** Above the fluid, the held face or the mean of the even-flux face, K. */
  rise_K: number;
  /** The part that evenly spread heat would cause, K: the layers, joints and film in series. */
  even_K: number;
  /** The rest: what the heat costs because it does not enter evenly, K. Negative far from a source. */
  spreading_K: number;
  /** Bound of the patterns left out plus the estimated error of the integral, K. */
  tail_K: number;
  /** Patterns summed. */
  patterns: number;
}

/** Largest number of patterns summed; reached when the uppermost layer is thinner than about 1/2000 of the plate. */
const MOST_PATTERNS = 4e6;

/**
 * Rise at a point, or the mean over a rectangle, caused by sources on the upper face; several sources superpose.
 *
 * Edges and the upper face outside of the sources let nothing through. The error is held below `relative` times the
 * evenly spread rise, and never more than stated in `tail_K`.
 *
 * @param plate    sizes in mm, conductivities in W/mK, first layer under the sources
 * @param sources  where how many W enter
 * @param at       a point or a rectangle on the upper face, mm from the plate's corner
 * @param relative tolerance, default 1e-7
 * @throws RangeError on an impossible figure, a place outside the plate, or a layer too thin for 4 million patterns
 *   (a film of paste is a joint, not a layer)
 * @example
 * // 100 W evenly into a copper plate 40 × 40 × 4 mm above a film of 10 000 W/m²K: t/(kA) + 1/(hA) = 0.06875 K/W
 * plateRise(
 *   { width_mm: 40, depth_mm: 40, layers: [{ thickness_mm: 4, k_W_per_mK: 400 }], sink: { kind: 'film', h_W_per_m2K: 1e4 } },
 *   [{ x_mm: 20, y_mm: 20, width_mm: 40, depth_mm: 40, power_W: 100 }],
 *   { x_mm: 20, y_mm: 20 },
 * ).rise_K // 6.875
 */
export function plateRise(
  plate: Plate,
  sources: readonly HeatPatch[],
  at: Point | Rectangle,
  relative = 1e-7,
): PlateRise {
  checkPlate(plate);
  requirePositive('relative', relative);
  const target: Rectangle = 'width_mm' in at ? at : { ...at, width_mm: 0, depth_mm: 0 };
  checkInside(plate, target, 'the place asked for');
  sources.forEach((source, i) => {
    requirePositive(`width_mm of source ${i + 1}`, source.width_mm);
    requirePositive(`depth_mm of source ${i + 1}`, source.depth_mm);
    if (!Number.isFinite(source.power_W))
      throw new RangeError(`power_W of source ${i + 1} is ${source.power_W}`);
    checkInside(plate, source, `source ${i + 1}`);
  });
  const even = seriesImpedance(plate) / (area_mm2(plate) * 1e-6);
  const band = chooseBand(plate, 0.5 * relative * even);
  const result: PlateRise = { rise_K: 0, even_K: 0, spreading_K: 0, tail_K: 0, patterns: band.patterns };
  const long = longPart(plate, sources, target, band);
  const top = plate.layers[0]!.k_W_per_mK;
  for (const source of sources) {
    const short = nearPart(plate, source, target, band.eta_m, 0.25 * relative * even * top);
    result.even_K += source.power_W * even;
    result.spreading_K += (source.power_W * short.value) / top;
    result.tail_K += Math.abs(source.power_W) * (band.tail_K_per_W + short.error / top);
  }
  result.spreading_K += long;
  result.rise_K = result.even_K + result.spreading_K;
  return result;
}

interface Band {
  beta_per_m: number;
  eta_m: number;
  tail_K_per_W: number;
  patterns: number;
}

/** The circle of patterns to sum and the length at which to split, so that what is outside stays below `allowed`. */
function chooseBand(plate: Plate, allowed_K_per_W: number): Band {
  const width = plate.width_mm / 1000;
  const depth = plate.depth_mm / 1000;
  const { thickness_mm, k_W_per_mK } = plate.layers[0]!;
  const t = thickness_mm / 1000;
  const cell = Math.PI * Math.hypot(1 / width, 1 / depth);
  let beta = Math.max(3 * cell, 30 / Math.min(width, depth));
  for (;;) {
    const eta = Math.min(Math.min(width, depth) / 8, 5.5 / beta);
    const start = beta - cell;
    const echo = Math.exp(-2 * start * t) / (t * (1 - Math.exp(-2 * start * t)));
    const blur = erfcIntegral(start * eta) / eta;
    const axes = 1 + (width + depth) / (width * depth * start);
    const tail_K_per_W = (2 / (Math.PI * k_W_per_mK)) * axes * (echo + blur);
    const patterns = Math.ceil((beta * beta * width * depth) / (4 * Math.PI));
    if (tail_K_per_W <= allowed_K_per_W) return { beta_per_m: beta, eta_m: eta, tail_K_per_W, patterns };
    if (patterns > MOST_PATTERNS) {
      throw new RangeError(
        `the uppermost layer of ${thickness_mm} mm is too thin for a plate of ${plate.width_mm} × ${plate.depth_mm} mm; ` +
          'give a film as joint_m2K_per_W of the layer above it',
      );
    }
    beta *= 1.25;
  }
}

/** The series over the patterns within the band, for all sources at once, K. */
function longPart(plate: Plate, sources: readonly HeatPatch[], target: Rectangle, band: Band): number {
  const width = plate.width_mm / 1000;
  const depth = plate.depth_mm / 1000;
  const alongX = Math.floor((band.beta_per_m * width) / Math.PI);
  const alongY = Math.floor((band.beta_per_m * depth) / Math.PI);
  const tables = sources.map((source) => ({
    power: source.power_W,
    x: pattern(alongX, plate.width_mm, source.x_mm, source.width_mm, target.x_mm, target.width_mm),
    y: pattern(alongY, plate.depth_mm, source.y_mm, source.depth_mm, target.y_mm, target.depth_mm),
  }));
  const k = plate.layers[0]!.k_W_per_mK;
  let sum = 0;
  for (let m = 0; m <= alongX; m += 1) {
    for (let n = m === 0 ? 1 : 0; n <= alongY; n += 1) {
      const beta = Math.PI * Math.hypot(m / width, n / depth);
      if (beta > band.beta_per_m) break;
      const impedance = impedanceBeyondHalfSpace(plate, beta) + erfc(beta * band.eta_m) / (k * beta);
      let weight = 0;
      for (const table of tables) weight += table.power * table.x[m]! * table.y[n]!;
      sum += weight * impedance;
    }
  }
  return sum / (width * depth);
}

/** ε·cos averaged over the source times cos averaged over the target, for the patterns 0 … count of one direction. */
function pattern(
  count: number,
  length: number,
  xs: number,
  ws: number,
  xt: number,
  wt: number,
): Float64Array {
  const table = new Float64Array(count + 1);
  table[0] = 1;
  for (let m = 1; m <= count; m += 1) {
    const lambda = (m * Math.PI) / length;
    table[m] = 2 * meanCosine(lambda, xs, ws) * meanCosine(lambda, xt, wt);
  }
  return table;
}

function meanCosine(lambda: number, x: number, width: number): number {
  const half = (lambda * width) / 2;
  return Math.cos(lambda * x) * (half < 1e-8 ? 1 : Math.sin(half) / half);
}

/** k times the rise per W by heat that has spread no farther than η, evenly spread part left out, 1/m. */
function nearPart(plate: Plate, source: Rectangle, target: Rectangle, eta: number, allowed: number) {
  const even = 1 / (area_mm2(plate) * 1e-6);
  const alongX = spread(plate.width_mm / 1000, source.x_mm, source.width_mm, target.x_mm, target.width_mm);
  const alongY = spread(plate.depth_mm / 1000, source.y_mm, source.depth_mm, target.y_mm, target.depth_mm);
  const scale = 2 / Math.sqrt(Math.PI);
  const integral = integrate((s) => alongX(s) * alongY(s) - even, 0, eta, allowed / scale);
  return { value: scale * integral.value, error: scale * integral.error };
}

/** Share of an even source, per m, found over the target after spreading by s along one direction, images included. */
function spread(
  length: number,
  xs_mm: number,
  ws_mm: number,
  xt_mm: number,
  wt_mm: number,
): (s: number) => number {
  const [x, width, at, over] = [xs_mm / 1000, ws_mm / 1000, xt_mm / 1000, wt_mm / 1000];
  const distances: number[] = [];
  for (let p = -1; p <= 1; p += 1) distances.push(at - (2 * p * length + x), at - (2 * p * length - x));
  if (over === 0) {
    return (s) => {
      let sum = 0;
      for (const d of distances) sum += erf((d + width / 2) / (2 * s)) - erf((d - width / 2) / (2 * s));
      return sum / (2 * width);
    };
  }
  const wide = (width + over) / 2;
  const narrow = (width - over) / 2;
  return (s) => {
    let sum = 0;
    for (const d of distances) {
      sum += ramp(d + wide, s) - ramp(d + narrow, s) - ramp(d - narrow, s) + ramp(d - wide, s);
    }
    return sum / (2 * width * over);
  };
}

/** ∫ erf(v/2s) dv from 0 to u, up to a constant: an edge seen by a wide target. */
function ramp(u: number, s: number): number {
  const v = u / (2 * s);
  return u * erf(v) + ((2 * s) / Math.sqrt(Math.PI)) * Math.exp(-v * v);
}

/** Refuses a rectangle that reaches beyond the plate. */
function checkInside(plate: Plate, part: Rectangle, what: string): void {
  const slack = 1e-9 * (plate.width_mm + plate.depth_mm);
  const outside =
    !(part.x_mm - part.width_mm / 2 >= -slack && part.x_mm + part.width_mm / 2 <= plate.width_mm + slack) ||
    !(part.y_mm - part.depth_mm / 2 >= -slack && part.y_mm + part.depth_mm / 2 <= plate.depth_mm + slack);
  if (outside) {
    throw new RangeError(
      `${what} (${part.width_mm} × ${part.depth_mm} mm about ${part.x_mm}, ${part.y_mm}) reaches beyond the plate; ` +
        `x within 0 … ${plate.width_mm} mm and y within 0 … ${plate.depth_mm} mm is accepted`,
    );
  }
}
