import { levelOf } from '../predict/at-conditions.ts';
import { decidedNow, type PlanTask } from './plan-task.ts';
import type { PlanDecided, PlanOptions } from './planned.ts';
import { bestChances } from './worth.ts';

/** What the runs there are decide of the plan's question, all looks counted. */
export function decidedByNow(task: PlanTask, options: PlanOptions): PlanDecided {
  const { coolers, question } = task;
  const { goal, pair, margin_K } = question.decision;
  const pairs: PlanDecided['pairs'] = [];
  const winner: PlanDecided['winner'] = [];
  const compared = (a: number, b: number, l: number): PlanDecided['pairs'][number] => {
    const [i, j] = a < b ? [a, b] : [b, a];
    const found = decidedNow(task, i, j, l);
    const { rise_K, above_K, below_K } = task.expected.looked(a, b, l);
    const better = found === 'a' ? i : found === 'b' ? j : undefined;
    return {
      a: coolers[a].name,
      b: coolers[b].name,
      power_W: question.power_W[l],
      difference_K: rise_K,
      low_K: rise_K - above_K,
      high_K: rise_K + below_K,
      better: better === undefined ? null : coolers[better].name,
      same: found === 'same',
    };
  };
  question.power_W.forEach((power_W, l) => {
    if (goal === 'winner') {
      const first = coolers.reduce(
        (best, one, c) => (one.limitsNow[l].middle_K < coolers[best].limitsNow[l].middle_K ? c : best),
        0,
      );
      const beside = coolers.flatMap((_, c) => (c === first ? [] : [compared(first, c, l)]));
      const open = beside.filter(({ better }) => better === null).map(({ b }) => b);
      pairs.push(...beside);
      winner.push({
        power_W,
        cooler: coolers[first].name,
        p_best: bestChances(task, l)[first],
        decided: open.length === 0,
        may_be: open,
      });
    }
    if (goal === 'pair' && pair) pairs.push(compared(pair[0], pair[1], l));
    if (goal === 'order') {
      coolers.forEach((_, a) => {
        for (let b = a + 1; b < coolers.length; b++) pairs.push(compared(a, b, l));
      });
    }
  });
  const isDecided = ({ better, same }: PlanDecided['pairs'][number]) => better !== null || same;
  const decided = {
    level: levelOf(options),
    margin_K: margin_K > 0 ? margin_K : null,
    answered: goal !== 'prediction' && pairs.every(isDecided),
    winner,
    pairs,
  };
  return { ...decided, sentence: sentence(decided, goal) };
}

/** What is decided so far, in a sentence, by the goal. */
function sentence(
  { level, margin_K, answered, winner, pairs }: Omit<PlanDecided, 'sentence'>,
  goal: PlanTask['question']['decision']['goal'],
): string {
  if (goal === 'prediction') return 'A plan for predictions decides nothing between coolers.';
  const looks = `Counting every look, at ${Number((100 * level).toPrecision(4))} %`;
  if (goal === 'winner') {
    const within = margin_K === null ? '' : `, or within ${margin_K} K of it`;
    const parts = winner.map(({ power_W, cooler, decided, may_be }) =>
      decided
        ? `${cooler} is the coolest at ${power_W} W${within}`
        : `which cooler is the coolest at ${power_W} W is not decided: ${cooler} leads${within === '' ? '' : ' so far'}, and ${may_be.join(', ')} may still be`,
    );
    return `${looks}: ${parts.join('; ')}.`;
  }
  if (goal === 'pair') {
    const parts = pairs.map(({ a, b, power_W, better, same, low_K, high_K }) => {
      if (better !== null) return `${better} is cooler than ${better === a ? b : a} at ${power_W} W`;
      if (same) return `${a} and ${b} are the same within ${margin_K} K at ${power_W} W`;
      return `${a} and ${b} are not decided at ${power_W} W: ${a} is from ${low_K.toFixed(1)} to ${high_K.toFixed(1)} K hotter`;
    });
    return `${looks}: ${parts.join('; ')}.`;
  }
  const told = pairs.filter(({ better }) => better !== null).length;
  const same = pairs.filter((pair) => pair.same).length;
  const alike = margin_K === null ? '' : ` and ${same} the same within ${margin_K} K`;
  return `${looks}: ${told} of ${pairs.length} pairs are told apart${alike}${answered ? '; the order is decided' : ''}.`;
}
