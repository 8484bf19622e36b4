import { leadersAt, pairOf } from '../../answers/text/answer.ts';
import type { Pair } from '../../compare/comparison.ts';
import type { Ink, Shown } from './chart.ts';

/** More coolers than this are not all drawn in colour: the leaders and the chosen ones are, the rest in pale grey. */
export const MOST_IN_COLOUR = 12;
const MOST_LEADERS = 8;

/** How a cooler stands to the one that was chosen first, at the chosen load. */
export type Standing = 'chosen' | 'tie' | 'cooler' | 'warmer';

/** The cooler that others are held against: the one chosen first. */
export const focusOf = ({ view }: Pick<Shown, 'view'>): string | undefined => view.chosen[0];

/** The same, or the one in front where none is chosen. */
export const referenceOf = (shown: Shown): string | undefined =>
  focusOf(shown) ?? shown.compare.loads[0]?.order[0]?.cooler;

/** Who is ahead by the test of a pair at a load, one of those compared; `undefined`: a tie. */
export const aheadOf = ({ resolved }: Pair, power_W: number): string | undefined =>
  resolved.find(({ from_W, to_W }) => power_W >= from_W && power_W <= to_W)?.better;

/** Standing of every cooler; empty where none is chosen. */
export function standings(shown: Shown): ReadonlyMap<string, Standing> {
  const focus = focusOf(shown);
  const order = shown.compare.loads[0]?.order ?? [];
  if (focus === undefined || !order.some((e) => e.cooler === focus)) return new Map();
  return new Map(
    order.map(({ cooler }): [string, Standing] => {
      const pair = pairOf(shown.compare.pairs, focus, cooler);
      if (cooler === focus || !pair) return [cooler, 'chosen'];
      const ahead = aheadOf(pair, shown.compare.loads[0].power_W);
      return [cooler, ahead === undefined ? 'tie' : ahead === cooler ? 'cooler' : 'warmer'];
    }),
  );
}

/** A standing in a word. */
export const STANDING_WORDS: Readonly<Record<Standing, string>> = {
  chosen: 'chosen',
  tie: 'a tie',
  cooler: 'cooler',
  warmer: 'warmer',
};

/** The coolers drawn in their colours: the chosen ones and who ties with the first, or all, or of many the leaders. */
export function inColour(shown: Shown): ReadonlySet<string> {
  const order = shown.compare.loads[0]?.order ?? [];
  const { chosen } = shown.view;
  if (chosen.length > 0) {
    const ties = [...standings(shown)].filter(([, standing]) => standing === 'tie').map(([name]) => name);
    return new Set([...chosen, ...ties]);
  }
  if (order.length <= MOST_IN_COLOUR) return new Set(order.map((e) => e.cooler));
  return new Set(
    leadersAt(shown.compare.loads[0])
      .slice(0, MOST_LEADERS)
      .map((e) => e.cooler),
  );
}

/** The colour that a cooler is drawn in: its own, or pale grey. */
export function colourOf(shown: Shown, ink: Ink): (cooler: string) => string {
  const coloured = inColour(shown);
  return (cooler) => (coloured.has(cooler) ? ink.hue(shown.answers.places.get(cooler) ?? 0) : ink.pale);
}
