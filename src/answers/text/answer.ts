import type { Comparison, Crossing, LoadOrder, OrderEntry, Pair } from '../../compare/comparison.ts';
import type { SessionDoubt } from '../../months/differences-in-doubt.ts';
import { fixed } from './uncertainty.ts';
import { chance, kelvin, listOf, load, percent, plain } from './wording.ts';

/** A comparison, with what makes its sessions doubtful where anything does. */
export interface Doubted extends Comparison {
  session_doubt?: SessionDoubt;
}

/**
 * The answer to "who is ahead, and can the test tell?" in sentences.
 *
 * A cooler leads alone at a load when no other shares a letter with it; otherwise those that share a letter with the
 * least rise tie, whatever the order of their estimates. Nothing here ranks coolers inside a tie.
 */

/** A stretch of the requested loads over which the same coolers lead. */
export interface Lead {
  from_W: number;
  to_W: number;
  /** One cooler: it leads alone. Several: they tie. */
  coolers: string[];
}

/** The coolers that are not told apart from the one with the least rise, that one first. */
export function leadersAt(at: LoadOrder): OrderEntry[] {
  const first = at.order[0];
  if (first === undefined) return [];
  return at.order.filter(
    (entry) => entry === first || entry.tiers.some((tier) => first.tiers.includes(tier)),
  );
}

/** The coolers behind a lone leader that are not told apart from the best of the rest. */
function runnersUp(at: LoadOrder): OrderEntry[] {
  return leadersAt({ ...at, order: at.order.slice(1) });
}

/** Leaders over all requested loads, neighbouring loads with the same leaders joined. */
export function leads(loads: readonly LoadOrder[]): Lead[] {
  const found: Lead[] = [];
  for (const at of loads) {
    const coolers = leadersAt(at).map((entry) => entry.cooler);
    const last = found[found.length - 1];
    const same =
      last !== undefined &&
      last.coolers.length === coolers.length &&
      coolers.every((name) => last.coolers.includes(name));
    if (same) last.to_W = at.power_W;
    else found.push({ from_W: at.power_W, to_W: at.power_W, coolers });
  }
  return found;
}

/** The pair of two coolers, in whichever order the result holds them. */
export function pairOf(pairs: readonly Pair[], one: string, other: string): Pair | undefined {
  return pairs.find((p) => (p.a === one && p.b === other) || (p.a === other && p.b === one));
}

/** "180 to 214 W", or one-sided where the interval runs on beyond the loads looked at. */
export function crossingRange(crossing: Crossing): string {
  const low = Math.round(crossing.low);
  const high = Math.round(crossing.high);
  if (crossing.low_open && crossing.high_open) return 'anywhere';
  if (crossing.high_open) return `not below ${low} W`;
  if (crossing.low_open) return `not above ${high} W`;
  return `${low} to ${high} W`;
}

/**
 * What a tie hides and what more mounts would tell. The first word is "they", for the tied coolers.
 *
 * Coolers further apart than fresh mounts resolve tie because their curves are not known well enough there: of the scatter
 * of mounts there is then nothing to say but what runs at that load would tell. Where none may be proposed there, nothing is.
 */
function tieLimit(at: LoadOrder, tied: readonly OrderEntry[], result: Comparison): string | undefined {
  const now = at.resolvable.find((r) => r.mounts >= 2) ?? at.resolvable[0];
  if (now === undefined) return undefined;
  const gap = Math.max(...tied.map((e) => e.rise_K)) - Math.min(...tied.map((e) => e.rise_K));
  const apart =
    tied.length === 2
      ? `they are ${kelvin(gap)} apart${limitsOf(at, result, tied[0], tied[1])}`
      : `they lie within ${kelvin(gap)}`;
  const isInReach = tied.every((e) => e.within_reach);
  if (now.difference_K < gap) {
    if (!isInReach) return `${apart} but the estimates are too uncertain to rank them`;
    return `${apart} but the estimates are too uncertain to rank them; fresh runs at this load would resolve ${kelvin(now.difference_K)} with ${mounts(now.mounts)} each`;
  }
  if (!isInReach) return apart;
  const limit = `a difference below ${kelvin(now.difference_K)} cannot be resolved with ${mounts(now.mounts)} each`;
  const enough = at.resolvable.find((r) => r.mounts > now.mounts && r.difference_K <= gap);
  const more = enough ?? at.resolvable.find((r) => r.mounts >= 2 * now.mounts) ?? at.resolvable.at(-1);
  const next =
    more !== undefined && more.mounts > now.mounts
      ? `; ${mounts(more.mounts)} each would resolve ${kelvin(more.difference_K)}`
      : '';
  return `${apart}, and ${limit}${next}`;
}

/** What the library says of the first two of a tie: where they are told apart, or what would break it. */
function tieVerdict(result: Comparison, tied: readonly OrderEntry[]): string[] {
  const verdict = pairOf(result.pairs, tied[0].cooler, tied[1].cooler)?.verdict ?? '';
  return verdict === '' ? [] : [verdict];
}

const mounts = (n: number): string => (n === 1 ? '1 mount' : `${n} mounts`);

/**
 * How a cooler can be the coolest with a high chance and still tie: that chance asks of this one cooler, letters of all
 * pairs at once. Nothing to say where the chance is below the level asked for.
 */
function likelyAndTied(result: Comparison, tied: readonly OrderEntry[]): string[] {
  const likely = tied.find((e) => e.p_best >= result.level);
  if (!likely) return [];
  const others = listOf(tied.filter((e) => e !== likely).map((e) => e.cooler));
  const asked = (1 + result.pair_level) / 2;
  return [
    `The chance that ${likely.cooler} is the coolest is ${chance(likely.p_best)} %; it still ties with ${others}, since for all pairs to hold at once each has to be resolved at ${percent(Math.floor(1000 * asked) / 1000)}.`,
  ];
}

/** Limits of how far the second is above the first, in brackets: " (0.4 to 18.3)". */
function limitsOf(at: LoadOrder, result: Comparison, first: OrderEntry, next: OrderEntry): string {
  const pair = pairOf(result.pairs, first.cooler, next.cooler);
  const found = pair?.difference.find((d) => d.power_W === at.power_W);
  if (!found) return '';
  const sign = pair?.a === first.cooler ? -1 : 1;
  const ends = [sign * found.low_K, sign * found.high_K].sort((x, y) => x - y);
  return ` (${ends.map((x) => fixed(x, 1)).join(' to ')})`;
}

/** "35.2 K above ambient (33.9 to 36.6)". */
const aboveAmbient = ({ rise_K, mean_low_K, mean_high_K }: OrderEntry): string =>
  `${rise_K.toFixed(1)} K above ambient (${fixed(mean_low_K, 1)} to ${fixed(mean_high_K, 1)})`;

/** "6.3 K below Fell Twin (0.4 to 18.3)". */
function below(at: LoadOrder, result: Comparison, first: OrderEntry, next: OrderEntry): string {
  return `${kelvin(next.rise_K - first.rise_K)} below ${next.cooler}${limitsOf(at, result, first, next)}`;
}

/**
 * The answer at one load.
 *
 * @returns one or two sentences
 */
export function answerAt(at: LoadOrder, result: Doubted): string[] {
  return withDoubt(orderAt(at, result), result);
}

/** What the sentences rest on, right behind the first of them. */
function withDoubt([first, ...rest]: string[], result: Doubted): string[] {
  const { session_doubt: doubt } = result;
  return [first, ...(doubt ? [doubt.verdict] : []), ...speedsSentence(result), ...rest];
}

/** Coolers named one by one; more are counted. */
const MOST_NAMED = 4;

/** "Heron is asked for at 900 rpm, but was run at 1500 rpm …": coolers whose answer rests on a speed that they were not run at. */
function speedsSentence({ speeds_not_run: asked = [] }: Comparison): string[] {
  if (asked.length === 0) return [];
  const rpm = (low: number, high: number) =>
    Math.round(low) === Math.round(high)
      ? `${Math.round(low)} rpm`
      : `${Math.round(low)} to ${Math.round(high)} rpm`;
  const named = asked.slice(0, MOST_NAMED).map(({ cooler, fan_rpm, lowest_run_rpm, greatest_run_rpm }) => {
    return `${cooler} at ${rpm(fan_rpm, fan_rpm)} (run at ${rpm(lowest_run_rpm, greatest_run_rpm)})`;
  });
  const more = asked.length > MOST_NAMED ? [`${asked.length - MOST_NAMED} more`] : [];
  const [what, run] =
    asked.length === 1
      ? ['a fan speed that was not run', 'it there']
      : ['fan speeds that were not run', 'them there'];
  return [
    `This rests on ${what}: ${listOf([...named, ...more])}. Run ${run}; plan for the same condition proposes the runs.`,
  ];
}

function orderAt(at: LoadOrder, result: Comparison): string[] {
  if (at.order.length === 0) return ['No cooler has runs that answer this.'];
  const tied = leadersAt(at);
  const first = at.order[0];
  const beyond = first.extrapolated ? ' (extrapolated)' : '';
  if (at.order.length === 1) {
    return [
      `At ${load(at.power_W)}${beyond} ${first.cooler} runs ${aboveAmbient(first)}. There is no other cooler to compare it with.`,
    ];
  }
  const names = (group: readonly OrderEntry[]): string => listOf(group.map((e) => e.cooler));
  if (tied.length === 1) {
    const next = runnersUp(at);
    const behind = next.length > 1 ? [`Behind it ${names(next)} tie.`, ...tieVerdict(result, next)] : [];
    return [
      `At ${load(at.power_W)}${beyond} ${first.cooler} is ahead: ${aboveAmbient(first)}, ${below(at, result, first, next[0])}.`,
      ...behind,
    ];
  }
  const limit = tieLimit(at, tied, result);
  const who = tied.length === at.order.length && tied.length > 2 ? `all ${tied.length} coolers` : names(tied);
  return [
    `At ${load(at.power_W)}${beyond} ${who} tie${limit === undefined ? '' : `: ${limit}`}.`,
    ...likelyAndTied(result, tied),
    ...tieVerdict(result, tied),
  ];
}

/** Loads at which what is said of the leaders is an extrapolation, as words; empty when none. */
function beyondSentence(loads: readonly LoadOrder[]): string[] {
  const beyond = loads.map((at) => leadersAt(at).some((entry) => entry.extrapolated));
  if (!beyond.includes(true)) return [];
  if (!beyond.includes(false))
    return ['All of this is beyond what was run: every answer is an extrapolation.'];
  const stretches: string[] = [];
  for (let i = 0; i < loads.length; i++) {
    if (!beyond[i]) continue;
    let end = i;
    while (beyond[end + 1]) end++;
    stretches.push(
      i === end ? load(loads[i].power_W) : `${plain(loads[i].power_W)} to ${load(loads[end].power_W)}`,
    );
    i = end;
  }
  return [`Beyond the loads run, so extrapolated: ${listOf(stretches)}.`];
}

/** "The order of A and B changes at about 195 W …". */
function crossingSentence(crossing: Crossing, level: number): string {
  const beyond = crossing.extrapolated ? ', beyond the loads run' : '';
  if (crossing.low_open && crossing.high_open) {
    return `${crossing.ahead_below} and ${crossing.ahead_above} change places at about ${Math.round(crossing.value)} W by the estimates alone; the test cannot say where.`;
  }
  return `${crossing.ahead_below} is ahead up to about ${Math.round(crossing.value)} W and ${crossing.ahead_above} above it (${percent(level)}: ${crossingRange(crossing)}${beyond}).`;
}

/**
 * The answer over all requested loads: who leads where, what the last tie would take to break, where the lead changes
 * hands, and what of it is extrapolation.
 *
 * @returns sentences, the most wanted first
 */
export function answer(result: Doubted): string[] {
  if (result.loads.length === 0) return ['No load was asked for.'];
  if (result.loads.length === 1) return answerAt(result.loads[0], result);
  const all = result.loads[0].order.length;
  if (all < 2) {
    return answerAt(result.loads[result.loads.length - 1], result);
  }
  const found = leads(result.loads);
  const sentences = found.slice(0, 5).map((lead) => {
    const where =
      lead.from_W === lead.to_W
        ? `At ${load(lead.from_W)}`
        : `From ${plain(lead.from_W)} to ${load(lead.to_W)}`;
    if (lead.coolers.length === 1) return `${where} ${lead.coolers[0]} is ahead of every other cooler.`;
    if (lead.coolers.length === all && all > 2) return `${where} all ${all} coolers tie.`;
    return `${where} ${listOf(lead.coolers)} tie for the lead.`;
  });
  if (found.length > 5)
    sentences.push(
      `Above ${load(found[4].to_W)} the leaders change ${found.length === 6 ? 'once more' : `${found.length - 5} times more`}.`,
    );
  const alone = found.every((lead) => lead.coolers.length === 1);
  const lastLoad = result.loads[result.loads.length - 1];
  const behind =
    alone && all > 2 ? leads(result.loads.map((at) => ({ ...at, order: at.order.slice(1) }))) : [];
  for (const lead of behind.slice(0, 4)) {
    const where =
      lead.from_W === lead.to_W
        ? `at ${load(lead.from_W)}`
        : `from ${plain(lead.from_W)} to ${load(lead.to_W)}`;
    const who = listOf(lead.coolers);
    sentences.push(`Behind it, ${where}, ${who} ${lead.coolers.length === 1 ? 'is next' : 'tie'}.`);
  }
  const ties = result.loads.filter((at) => leadersAt(at).length > 1);
  const tie = ties.filter((at) => !leadersAt(at).some((e) => e.extrapolated)).at(-1) ?? ties.at(-1);
  if (tie !== undefined) {
    const tied = leadersAt(tie);
    const limit = tieLimit(tie, tied, result);
    const who = tied.length === 2 ? listOf(tied.map((e) => e.cooler)) : `these ${tied.length} coolers`;
    if (limit !== undefined) sentences.push(`At ${load(tie.power_W)} ${limit.replace(/^they/, who)}.`);
    sentences.push(...likelyAndTied(result, tied));
  }
  const opening = result.loads[0].order[0].cooler;
  const closing = lastLoad.order[0].cooler;
  const pair = opening === closing ? undefined : pairOf(result.pairs, opening, closing);
  for (const crossing of pair?.crossings ?? []) sentences.push(crossingSentence(crossing, result.level));
  sentences.push(...beyondSentence(result.loads));
  return withDoubt(sentences, result);
}
