import { percent } from '../../answers/text/wording.ts';
import { levelOf } from '../../predict/at-conditions.ts';
import type { Answers } from '../answers.ts';
import { options, runOptions } from '../controls.ts';
import { firstState } from '../state.ts';
import { byId } from './dom.ts';
import { unparted } from './escape.ts';
import { markSprite } from './marks.ts';

/** Puts into the page's elements what the page of this bench would open with. */
export function fillBench(answers: Answers): void {
  const { data, bench, places } = answers;
  const { source } = firstState(answers);
  document.title = `${bench.name}: coolers compared`;
  byId('kicker').textContent = bench.name;
  byId('order-level').textContent = unparted(percent(levelOf(data.asked)));
  const html: Record<string, string> = {
    'strange-runs': data.strange,
    source: options(answers.sources, source),
    'cooler-names': options(places.keys()),
    'log-run': runOptions(data.logs),
    'parting-run': runOptions(data.partings),
    'plan-runs': data.plan?.runs ?? '',
    sections: data.sections,
    evidence: data.evidence[source],
    basis: data.basis,
    marks: markSprite(places.size),
  };
  for (const [id, text] of Object.entries(html)) byId(id).innerHTML = text;
  const sound = document.querySelector<HTMLElement>('input[name=speed][value=sound]');
  if (sound?.parentElement) sound.parentElement.hidden = !answers.hasSound;
}
