import { aiccSkill, leaveOneOut, modelWeights } from './model-weights.ts';
import type { RiseCurve } from './rise-curve.ts';
import type { Work } from './work.ts';

/** Skill of every model on every cooler and the weights that follow. */
export function judge(works: readonly Work[], curves: readonly RiseCurve[]): void {
  for (const work of works) {
    const judged = work.curves.map((posterior) => {
      if (!posterior.covariance.every(Number.isFinite))
        return { leftOut: Number.NEGATIVE_INFINITY, together: Number.NEGATIVE_INFINITY };
      const { leftOut, speedLeftOut, together } = leaveOneOut(work.data, posterior, work.covariance);
      const partitions = [leftOut, speedLeftOut].filter((densities) => densities.length > 1);
      if (partitions.length === 0) return { leftOut: aiccSkill(posterior), together };
      // Each partition holds every run once: their mean weighs as much as either.
      return {
        leftOut: partitions.flatMap((one) => [...one]).reduce((a, b) => a + b, 0) / partitions.length,
        together,
      };
    });
    const likeliest = Math.max(...judged.map(({ together }) => together));
    const skill = judged.map(({ leftOut, together }) =>
      together < likeliest - OUT_OF_THE_QUESTION ? Number.NEGATIVE_INFINITY : leftOut,
    );
    const hasLimit = (m: number) => work.curves[m].curve.model.limit !== undefined;
    const without = Math.max(...skill.filter((_, m) => !hasLimit(m)));
    // A model with a pipe limit counts only where the runs show one. Where they do not, its limit is only a prior, and that
    // prior is carried, whole, by the limit nodes that continue every other model.
    work.skill = skill.map((value, m) =>
      hasLimit(m) && value < without + SEEN ? Number.NEGATIVE_INFINITY : value,
    );
  }
  const table = works.map((work) =>
    curves.map((curve) => {
      const m = work.curves.findIndex((posterior) => posterior.curve === curve);
      return m < 0 ? Number.NEGATIVE_INFINITY : work.skill[m];
    }),
  );
  const weights = modelWeights(table);
  works.forEach((work, c) => {
    work.weights = work.curves.map((posterior) => weights[c][curves.indexOf(posterior.curve)]);
    const total = work.weights.reduce((a, b) => a + b, 0);
    work.weights = work.weights.map((w) => w / total);
  });
}

/**
 * A model under which a cooler's runs as a whole are e¹⁰ times less likely than under another is out of the question there. Left-out
 * loads alone would not see it: what a wrong curve misses at every load alike passes for the mounts' own resistance.
 */
const OUT_OF_THE_QUESTION = 10;

/**
 * Log predictive density by which a model with a limit has to beat the others for the limit to count as
 * seen. Chosen: odds of 7 to 1.
 */
const SEEN = 2;
