import type { PageData } from '../page-data.ts';
import { conditionWords } from '../state.ts';
import type { GivenFits } from './another-bench.ts';
import { byId } from './dom.ts';
import { dropped, type Given, pastedTable, pickedFolder, pickedTable } from './given-files.ts';
import type { LiveBench } from './live-bench.ts';
import type { FitRequest } from './worker-messages.ts';

/** Shows another bench; where it is the same without some runs, `fragment` keeps controls and view. */
export type ShowOther = (data: PageData, read: readonly string[], fragment?: string) => void;

/** Folders and tables that are picked, pasted or dropped are read and fitted, and shown in the place of this bench. */
export function listenToGiven({ answers, on }: LiveBench, fits: GivenFits, show: ShowOther): void {
  const open = (given: () => ReturnType<typeof dropped> | Given, place: Element = byId('another')): void => {
    const request = async (): Promise<FitRequest | undefined> => {
      const files = await given();
      return files && { ...files, version: answers.data.version };
    };
    void fits.fit(request, place, show);
  };
  const picked = (id: string, given: (files: FileList) => ReturnType<typeof dropped> | Given): void =>
    byId<HTMLInputElement>(id).addEventListener(
      'change',
      ({ target }) => {
        const { files } = target as HTMLInputElement;
        if (files && files.length > 0) open(() => given(files));
      },
      on,
    );
  picked('folder', pickedFolder);
  picked('table', ([file]) => pickedTable(file));
  byId('pasted').addEventListener(
    'paste',
    (event) => {
      const text = event.clipboardData?.getData('text') ?? '';
      if (/[\n\t]/.test(text)) open(() => pastedTable(text));
    },
    on,
  );
  addEventListener('dragover', (event) => event.preventDefault(), on);
  addEventListener(
    'drop',
    (event) => {
      event.preventDefault();
      const { dataTransfer, target } = event;
      const place = target instanceof Element ? target.closest('section') : null;
      if (dataTransfer) open(() => dropped(dataTransfer), place ?? byId('answer'));
    },
    on,
  );
}

/** A plan for the load and the condition shown takes the place of the one before. */
export function listenToPlan(live: LiveBench, fits: GivenFits): void {
  const form = byId<HTMLFormElement>('plan-goal');
  form.addEventListener(
    'submit',
    (event) => {
      event.preventDefault();
      const { state, shown } = live;
      const { data } = live.answers;
      const goal = {
        conditions: shown.conditions,
        power_W: state.power_W,
        hours: byId<HTMLInputElement>('plan-hours').valueAsNumber,
        where: conditionWords(state),
      };
      void fits.fit(
        () => ({ kind: 'plan', data, goal }),
        byId('section-plan'),
        ({ plan }) => live.takePlan(plan),
      );
    },
    live.on,
  );
  for (const control of form.elements) (control as HTMLInputElement).disabled = false;
}

/** Strange runs are left out and put back, each time with a new fit. */
export function listenToStrange(live: LiveBench, fits: GivenFits, show: ShowOther): void {
  const { data } = live.answers;
  byId('strange-runs').addEventListener(
    'click',
    ({ target }) => {
      if (!(target instanceof HTMLButtonElement)) return;
      const { without: out, back } = target.dataset;
      const left = (data.asked.without ?? []).filter((name) => name !== back);
      const without = out === undefined ? left : [...left, out];
      void fits.fit(
        () => ({ kind: 'without', data, without }),
        byId('answer'),
        (other) => show(other, [], live.fragment),
      );
    },
    live.on,
  );
  for (const button of byId('strange-runs').querySelectorAll('button')) button.disabled = false;
}
