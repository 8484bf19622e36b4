import { answer, answerAt } from '../answers/text/answer.ts';
import { percent } from '../answers/text/wording.ts';
import type { Shown } from './charts/chart.ts';
import { standings } from './charts/emphasis.ts';
import { crossingsTable } from './page/crossings.ts';
import { prose } from './page/escape.ts';
import { orderCaption, orderRows, orderScale } from './page/order-table.ts';
import { conditionWords } from './state.ts';

/** The pieces of the answer that change with the controls: HTML, by the id of the element that holds it. */
export interface AnswerPieces {
  html: Record<
    'conditions' | 'headline' | 'beneath' | 'order-caption' | 'order-scale' | 'order-rows' | 'remark-list',
    string
  >;
  /** Whether a row has a star, so that what a star means has to be said. */
  starred: boolean;
}

/** The sentence, the table and the remarks at the chosen load and condition. */
export function answerPieces(shown: Shown): AnswerPieces {
  const { compare, state, answers } = shown;
  const at = compare.loads[0];
  const [headline, ...rest] = shortHeadline(answerAt(at, compare));
  const known = new Set([...answers.bench.warnings, ...answers.posterior(state.source).warnings]);
  const remarks = [...new Set(compare.warnings)].filter((one) => !known.has(one));
  return {
    html: {
      conditions: prose(`${conditionWords(state)}, intervals at ${percent(compare.level)}`),
      headline: prose(headline),
      beneath: prose(rest.join(' ')),
      'order-caption': `${prose(orderCaption(at, compare.level))}<span class="screen"> Press a name to hold the others against it.</span>`,
      'order-scale': orderScale(at),
      'order-rows': orderRows(at, answers.places, state.ambient_C, standings(shown), shown.view.chosen),
      'remark-list': remarks.map((one) => `<li>${prose(one)}</li>`).join(''),
    },
    starred: at.order.some((entry) => entry.extrapolated),
  };
}

/** A headline is read at a glance: of a long first sentence, what follows its colon is a sentence of its own. */
function shortHeadline([first, ...rest]: readonly string[]): string[] {
  const colon = first.indexOf(': ');
  if (first.length <= MOST_LETTERS || colon < 0) return [first, ...rest];
  const after = first.slice(colon + 2);
  return [`${first.slice(0, colon)}.`, after[0].toUpperCase() + after.slice(1), ...rest];
}

const MOST_LETTERS = 90;

/** The answers over all loads, as list items. */
export function orderAnswers({ answers, conditions }: Shown): string {
  return answer(answers.overLoads(conditions))
    .map((sentence) => `<li>${prose(sentence)}</li>`)
    .join('');
}

/** The loads at which two coolers change places, as a table. */
export const crossingsOf = ({ answers, conditions }: Shown): string =>
  crossingsTable(answers.overLoads(conditions), answers.places);
