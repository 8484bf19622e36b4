import { answerPieces, crossingsOf, orderAnswers } from '../answer-rows.ts';
import { type Answers, conditionName } from '../answers.ts';
import type { Shown } from '../charts/chart.ts';
import { planChart } from '../charts/plan-chart.ts';
import { chosenHtml, loadWord } from '../controls.ts';
import type { PagePlan } from '../page-plan.ts';
import { FIRST_VIEW, shownAt } from '../shown.ts';
import { firstState, fromFragment, type PageState, toFragment, type View } from '../state.ts';
import { atRest, inSlices } from './at-rest.ts';
import { orSay, showControls, showView } from './control-row.ts';
import { byId } from './dom.ts';
import { unparted } from './escape.ts';
import { Panels } from './panels.ts';

/** How long a control has rested before the address follows and before the answer is spoken, ms. */
const REST = 160;
const SPOKEN_AFTER = 700;

/** A bench in the page: what is asked of it, and what is seen of the answer. */
export class LiveBench {
  readonly answers: Answers;
  readonly panels: Panels;
  /** What listens for this bench ends with it. */
  readonly on: { signal: AbortSignal };
  state: PageState;
  view: View = FIRST_VIEW;
  shown: Shown;
  readonly #ending = new AbortController();
  readonly #work = inSlices();
  /** Whether the answers over all loads are those of a condition before. */
  #isLate = false;
  readonly #keep = atRest(REST);
  readonly #speak = atRest(SPOKEN_AFTER);

  /** Shows the bench as it stands first; the page's elements have its text already. */
  constructor(answers: Answers) {
    this.answers = answers;
    this.on = { signal: this.#ending.signal };
    this.state = firstState(answers);
    this.shown = shownAt(answers, this.state, this.view);
    this.panels = new Panels(
      this.shown,
      (cooler) => this.pick(cooler),
      () => this.#rest(),
      this.on,
    );
    // A browser that comes back to the page may have kept the controls where they were.
    showControls(this.state, answers);
    this.#showView();
  }

  /** Gives way to another bench. */
  close(): void {
    this.#ending.abort();
    this.panels.close();
  }

  /** The state with some controls elsewhere: sentence and table at once, charts at the next picture, what runs over all loads at rest. */
  ask(changed: Partial<PageState>): void {
    const before = this.shown;
    this.state = { ...this.state, ...changed };
    showControls(this.state, this.answers);
    this.#keepAddress();
    const take = (): void => {
      const { state } = this;
      this.shown = shownAt(this.answers, state, this.view);
      byId('fault').textContent = '';
      this.#tell();
      const moved = conditionName(this.shown.conditions) !== conditionName(before.conditions);
      const isOther = state.source !== before.state.source;
      const all = isOther || state.ambient_C !== before.state.ambient_C;
      this.panels.show(this.shown, all ? 'all' : moved ? 'condition' : 'load');
      if (isOther) byId('evidence').innerHTML = this.answers.data.evidence[state.source];
      if (moved) this.#isLate = true;
    };
    orSay(take, (words) => {
      byId('fault').textContent = words;
    });
    performance.mark('told');
  }

  /** The same answer seen otherwise; `chart` where one alone is concerned. */
  look(changed: Partial<View>, chart?: string): void {
    this.view = { ...this.view, ...changed };
    this.shown = { ...this.shown, view: this.view };
    if (chart === undefined) this.#tell();
    this.#showView();
    this.#keepAddress();
    this.panels.show(this.shown, 'all', chart);
  }

  /** Puts a cooler among the chosen ones, or takes it off. */
  pick(cooler: string): void {
    const { chosen } = this.view;
    const held = document.activeElement instanceof HTMLElement && document.activeElement.dataset.cooler;
    this.look({
      chosen: chosen.includes(cooler) ? chosen.filter((name) => name !== cooler) : [...chosen, cooler],
    });
    // The row that was pressed is made anew: its button keeps the focus.
    if (held) document.querySelector<HTMLElement>(`.pick[data-cooler="${CSS.escape(held)}"]`)?.focus();
  }

  /** Shows another plan for the next hours. */
  takePlan(plan: PagePlan | null): void {
    this.answers.data.plan = plan;
    byId('plan-runs').innerHTML = plan?.runs ?? '';
    byId('spoken').textContent = planChart.about(this.shown);
    this.panels.show(this.shown, 'all', planChart.id);
  }

  /** State and view as the address has them. */
  get fragment(): string {
    return toFragment(this.state, this.view);
  }

  /** Takes what an address says; what it leaves out is as in `from`. */
  takeAddress(given: string, from = this.state): void {
    const asked = fromFragment(given, from, this.answers);
    if (toFragment(asked.state, asked.view) === this.fragment) return;
    this.view = asked.view;
    this.#showView();
    this.ask(asked.state);
  }

  /** An address that a person gave meanwhile is not written over: it is about to be taken. */
  #keepAddress(): void {
    const { hash } = location;
    this.#keep(() => {
      if (location.hash === hash) history.replaceState(null, '', `#${this.fragment}`);
    });
  }

  #showView(): void {
    byId('chosen').innerHTML = chosenHtml(this.view.chosen);
    showView(this.view);
  }

  #rest(): void {
    if (this.#isLate) this.#work(this.#tellingOverLoads());
  }

  /** Everything of the answer that its charts do not tell. */
  tellAll(): void {
    this.#tell();
    this.#work(this.#tellingOverLoads());
  }

  #tell(): void {
    const { shown, state } = this;
    const { html, starred } = answerPieces(shown);
    for (const [id, text] of Object.entries(html)) byId(id).innerHTML = text;
    byId('load-word').textContent = unparted(loadWord(state, this.answers, shown.compare.loads[0].order));
    byId('order-foot').classList.toggle('blank', !starred);
    byId('remarks').hidden = html['remark-list'] === '';
    this.#speak(() => {
      byId('spoken').textContent = byId('headline').textContent;
    });
  }

  *#tellingOverLoads(): Generator<undefined, void> {
    const { shown } = this;
    yield* shown.answers.overLoadsInSteps(shown.conditions);
    if (shown.conditions !== this.shown.conditions) return;
    byId('order-answers').innerHTML = orderAnswers(this.shown);
    byId('crossings').innerHTML = crossingsOf(this.shown);
    this.#isLate = false;
  }
}
