import type { Answers } from './answers.ts';
import type { Shown } from './charts/chart.ts';
import { conditionsOf, type PageState, type View } from './state.ts';

/** What is drawn before the reader chooses. */
export const FIRST_VIEW: View = { measure: 'rise', unit: 'K', chosen: [], allPairs: false };

/** The answer at a state of the controls. */
export function shownAt(answers: Answers, state: PageState, view: View): Shown {
  const conditions = conditionsOf(state, answers);
  return { answers, state, conditions, compare: answers.at(conditions, state.power_W), view };
}
