import type { ExponentialFit, ExponentialMode, Following } from './exponential-fit.ts';
import { type MixtureComponent, moved } from './mixture.ts';

/**
 * The same descriptions under the other laws by which a source may follow the air, each shifted and weighted as one
 * step from the best description under that law foresees.
 *
 * @param areForeseen  the modes are what one step foresees already
 */
export function underOtherLaws(
  fit: ExponentialFit,
  found: readonly MixtureComponent[],
  modes: readonly (ExponentialMode | undefined)[],
  best: MixtureComponent,
  scale: number,
  areForeseen: boolean,
): { all: MixtureComponent[]; better: Following | undefined } {
  const mode = modes.find((candidate) => candidate?.terms === best.taus.length);
  const all = found.slice();
  let better: Following | undefined;
  let most = 1;
  if (!mode || mode.terms === 0) return { all, better };
  const own = fit.following;
  const taus = mode.logTaus.slice();
  const base = areForeseen ? mode : fit.outlook(taus, mode.terms);
  if (!base) return { all, better };
  for (const law of laws) {
    if (law === own) continue;
    fit.following = law;
    const other = fit.outlook(taus, mode.terms);
    if (!other) continue;
    const weight = lawPrior(law) - lawPrior(own) - (0.5 * (other.chiSquare - base.chiSquare)) / scale;
    if (weight > most) {
      most = weight;
      better = law;
    }
    if (!(weight > -7)) continue;
    const shift = other.rise_K - base.rise_K;
    for (let i = 0; i < found.length; i++) all.push(moved(found[i], weight, shift));
  }
  fit.following = own;
  return { all, better };
}

const laws: readonly Following[] = ['ladder', 'slowest', 'shares', 'at-once'];
const lawPrior = (law: Following) => Math.log(law === 'ladder' ? 0.55 : 0.15);

/**
 * Which law the source follows the air by: the ladder's, unless one step towards another law's optimum explains the
 * response markedly better.
 */
export function likeliestFollowing(
  fit: ExponentialFit,
  mode: ExponentialMode | undefined,
  n: number,
): Following {
  if (!mode) return 'ladder';
  const taus = mode.logTaus.slice();
  const margin = (2 * mode.chiSquare) / n;
  let best: Following = 'ladder';
  let least = mode.chiSquare - margin;
  for (const law of ['slowest', 'shares', 'at-once'] as const) {
    fit.following = law;
    const other = fit.outlook(taus, mode.terms);
    if (other && other.chiSquare < least) {
      least = other.chiSquare;
      best = law;
    }
  }
  fit.following = 'ladder';
  return best;
}
