import { counted, listed } from '../bench/wording.ts';
import type { HeaterBeside, PlanResult } from './planned.ts';

/**
 * The better of two plans for a chip in the same hours, one with runs on the heater and one without, and what the heater saves.
 *
 * @param both  may have runs on the heater
 */
export function withHeater(alone: PlanResult, both: PlanResult): PlanResult {
  const saved = savedByHeater(alone, both);
  const isWorth = saved.runs_on_heater > 0 && !tellsMore(alone, both);
  const { expected, ...chosen } = isWorth ? both : alone;
  const sentence = isWorth
    ? heaterSentence(alone, both, saved)
    : `No run on the heater is worth its time here: what is not known is how ${alone.source} differs from the heater, or what fittings on it do.`;
  return {
    ...chosen,
    expected: {
      ...expected,
      with_heater: isWorth ? saved : savedByHeater(alone, alone),
      sentences: [...expected.sentences, sentence],
    },
  };
}

/** Whether a plan answers more of the question than another; where that is no number, whether it leaves less unknown. */
function tellsMore({ expected: one }: PlanResult, { expected: other }: PlanResult): boolean {
  if (one.answered_after !== null && other.answered_after !== null)
    return one.answered_after > other.answered_after + 1e-9;
  const left = ({ coolers }: PlanResult['expected']) =>
    coolers.reduce((sum, { u_after_K }) => sum + Math.log(u_after_K), 0);
  return left(one) < left(other);
}

/** Runs for the question on each source in a plan with the heater, and how many on the chip alone the same hours have without it. */
function savedByHeater(alone: PlanResult, both: PlanResult): HeaterBeside {
  const on = ({ runs, source }: PlanResult, isSource: boolean) =>
    runs.filter((run) => run.purpose === 'question' && (run.source === source) === isSource);
  const count = (result: PlanResult, cooler: string) =>
    on(result, true).filter((run) => run.cooler === cooler).length;
  return {
    runs_on_heater: on(both, false).length,
    runs_on_source: on(both, true).length,
    runs_on_source_alone: on(alone, true).length,
    answered_alone: alone.expected.answered_after,
    resolved_alone: alone.expected.resolved_after,
    spared: [...new Set(on(alone, true).map(({ cooler }) => cooler))].filter(
      (cooler) => count(both, cooler) < count(alone, cooler),
    ),
  };
}

/** What the heater saves, in a sentence. */
function heaterSentence(alone: PlanResult, both: PlanResult, saved: HeaterBeside): string {
  const { source } = both;
  const { runs_on_heater, runs_on_source, runs_on_source_alone, spared } = saved;
  const pairs = ({ expected }: PlanResult) => expected.resolved_after.toFixed(1);
  const less = spared.length > 0 ? `; the heater spares ${source} runs of ${listed(spared, 'and')}` : '';
  return `With ${counted(runs_on_heater, 'run')} on the heater, ${counted(runs_on_source, 'run')} on ${source} tell ${pairs(both)} pairs apart in one look; ${source} alone takes ${counted(runs_on_source_alone, 'run')} in the same hours and tells ${pairs(alone)}${less}.`;
}
