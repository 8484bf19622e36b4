import type { Chart, Shown } from '../charts/chart.ts';
import { csvOf, plainTableHtml, tableMarkdown } from '../charts/chart-table.ts';
import { captionOf, type Framing, framingOf, pictureOf } from '../charts/picture.ts';
import { byId } from './dom.ts';
import { escapeHtml } from './escape.ts';
import { fixedInk } from './ink.ts';

/** How a chart is saved, and what of it is copied. */
type Format = 'svg' | 'png-1920' | 'png-3840' | 'csv';
type Copied = 'figure' | 'html' | 'markdown';

/**
 * The dialogue in which a chart is made ready for an article: its picture as it will be saved, title and credit to type, light or dark,
 * and every format to save or copy.
 */
export class Publisher {
  #chart: Chart | undefined;
  #shown: Shown | undefined;
  readonly #dialog = byId<HTMLDialogElement>('publish');

  constructor(on: AddEventListenerOptions) {
    this.#dialog.addEventListener('input', () => this.#preview(), on);
    byId('publish-close').addEventListener('click', () => this.#dialog.close(), on);
    for (const button of this.#dialog.querySelectorAll<HTMLButtonElement>('button[data-format]')) {
      button.addEventListener(
        'click',
        () => this.#work(button, () => this.#save(button.dataset.format as Format)),
        on,
      );
    }
    for (const button of this.#dialog.querySelectorAll<HTMLButtonElement>('button[data-copy]')) {
      button.addEventListener(
        'click',
        () => this.#work(button, () => this.#copy(button.dataset.copy as Copied)),
        on,
      );
    }
  }

  open(chart: Chart, shown: Shown): void {
    [this.#chart, this.#shown] = [chart, shown];
    const framing = framingOf(chart, shown);
    byId<HTMLInputElement>('own-title').value = framing.title;
    const credit = byId<HTMLInputElement>('own-credit');
    if (credit.value === '') credit.value = framing.credit;
    this.#tell('');
    this.#preview();
    this.#dialog.showModal();
  }

  get #asked(): { chart: Chart; shown: Shown; framing: Framing } {
    const [chart, shown] = [this.#chart, this.#shown];
    if (!chart || !shown) throw new Error('no chart is open');
    const own = (id: string): string => byId<HTMLInputElement>(id).value.trim();
    return {
      chart,
      shown,
      framing: framingOf(chart, shown, { title: own('own-title'), credit: own('own-credit') }),
    };
  }

  get #picture(): { svg: string; width: number; height: number } {
    const { chart, shown, framing } = this.#asked;
    const dark = this.#dialog.querySelector<HTMLInputElement>('input[value=dark]')?.checked === true;
    return pictureOf(chart, shown, fixedInk(dark), framing);
  }

  #preview(): void {
    byId<HTMLImageElement>('preview').src = svgAddress(this.#picture.svg);
    byId('preview').setAttribute('alt', captionOf(this.#asked.framing));
  }

  #work(button: HTMLButtonElement, act: () => Promise<string>): void {
    button.disabled = true;
    // What is said is of this act, not of the one before it.
    this.#tell('');
    act()
      .then((words) => this.#tell(words))
      .catch((error: unknown) => this.#tell(`This browser does not do that: ${String(error)}`))
      .finally(() => {
        button.disabled = false;
      });
  }

  #tell(words: string): void {
    byId('publish-told').textContent = words;
  }

  async #save(format: Format): Promise<string> {
    const { chart, shown, framing } = this.#asked;
    const stem = `${chart.id}-${Math.round(shown.state.power_W)}W`;
    if (format === 'csv') {
      const lines = [framing.title, framing.under, ...framing.notes, framing.credit];
      handOver(new Blob([csvOf(chart.table(shown), lines)], { type: 'text/csv' }), `${stem}.csv`);
    } else if (format === 'svg') {
      handOver(new Blob([this.#picture.svg], { type: 'image/svg+xml' }), `${stem}.svg`);
    } else {
      const wide = format === 'png-1920' ? 1920 : 3840;
      handOver(await pngOf(this.#picture, wide), `${stem}-${wide}.png`);
    }
    return 'Saved.';
  }

  async #copy(what: Copied): Promise<string> {
    const { chart, shown, framing } = this.#asked;
    if (what === 'markdown') {
      await navigator.clipboard.writeText(tableMarkdown(chart.table(shown), framing));
      return 'The table is copied as Markdown.';
    }
    const caption = captionOf(framing);
    const source =
      what === 'html'
        ? plainTableHtml(chart.table(shown), framing)
        : `<figure>${this.#picture.svg}<figcaption>${escapeHtml(caption)}</figcaption></figure>`;
    // What pastes as formatted text takes a picture as an image; what pastes as text gets the source.
    const rich = what === 'html' ? source : imageFigure(this.#picture.svg, framing.title, caption);
    await navigator.clipboard.write([
      new ClipboardItem({
        'text/html': new Blob([rich], { type: 'text/html' }),
        'text/plain': new Blob([source], { type: 'text/plain' }),
      }),
    ]);
    return what === 'html' ? 'The table is copied as HTML.' : 'The figure is copied with its caption.';
  }
}

const svgAddress = (svg: string): string => `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svg)}`;

/** A figure with the picture as an image. */
function imageFigure(svg: string, title: string, caption: string): string {
  const figure = document.createElement('figure');
  const image = document.createElement('img');
  image.setAttribute('src', svgAddress(svg));
  image.alt = title;
  const words = document.createElement('figcaption');
  words.textContent = caption;
  figure.append(image, words);
  return figure.outerHTML;
}

/** The picture as points, so many across. */
async function pngOf(
  { svg, width, height }: { svg: string; width: number; height: number },
  wide: number,
): Promise<Blob> {
  const image = new Image();
  image.src = svgAddress(svg);
  await image.decode();
  const canvas = document.createElement('canvas');
  canvas.width = wide;
  canvas.height = Math.round((wide * height) / width);
  canvas.getContext('2d')?.drawImage(image, 0, 0, canvas.width, canvas.height);
  return new Promise((resolve, reject) => {
    canvas.toBlob((blob) => (blob ? resolve(blob) : reject(new Error('no picture came of it'))), 'image/png');
  });
}

/** Hands a file to the reader's browser. */
function handOver(blob: Blob, name: string): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(blob);
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
