import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { parse } from 'csv-parse/sync';
import type { Browser, BrowserContextOptions, Page } from 'playwright-core';
import { afterAll, beforeAll, expect } from 'vitest';
import { heatladder, temporaryFolder } from '../cli/run-cli.ts';
import { browserWanted, openBrowser, openPage, savedAs, type Watched } from './browser.ts';
import { exampleFiles } from './example-bench.ts';

/** A window in which every chart is in view, so that every chart follows at once. */
const TALL = { viewport: { width: 1280, height: 9000 } };

/** Where the controls of the example stand first. */
export const FIRST = '#load=180&source=heater&room=22';

/**
 * The report of the example bench, made once for a file of tests, and a browser that shows it.
 *
 * Opening it takes longer than most tests, so those that only read and set controls share one page a kind of window: `drawn` puts it
 * back to where it is asked to stand.
 */
export function shownPage() {
  const folder = temporaryFolder();
  const inside = (...parts: string[]): string => join(folder.path, ...parts);
  const opened = new Map<string, Watched>();
  let chromium: Browser | undefined;
  let html = '';

  function writeBench(name: string, files: ReadonlyMap<string, Uint8Array | string>): void {
    for (const [file, bytes] of files) {
      mkdirSync(join(inside(name), file, '..'), { recursive: true });
      writeFileSync(inside(name, file), bytes);
    }
  }

  /** What a command prints as JSON. */
  async function json<T>(...args: string[]): Promise<T> {
    const ended = await heatladder([...args, '--json'], folder.path);
    expect(ended.stderr).not.toMatch(/^[^\n]+:\d+:\d+: /);
    return JSON.parse(ended.stdout) as T;
  }

  /** The report of a bench that was written, beside it. */
  async function report(name: string): Promise<string> {
    const ended = await heatladder(['report', name, '-o', `${name}.html`], folder.path);
    expect(ended).toMatchObject({ status: 0, stdout: '' });
    return inside(`${name}.html`);
  }

  beforeAll(async () => {
    writeBench('bench', exampleFiles());
    html = readFileSync(await report('bench'), 'utf8');
    if (browserWanted) chromium = await openBrowser();
  });
  afterAll(async () => {
    await chromium?.close();
    folder.remove();
  });

  const open = (path: string, options?: BrowserContextOptions, fragment?: string): Promise<Watched> =>
    openPage(chromium as Browser, path, options, fragment);

  /** The page of the example with all charts drawn, as it stands at a fragment. */
  async function drawn(fragment = FIRST, options: BrowserContextOptions = TALL): Promise<Watched> {
    const key = JSON.stringify(options);
    let watched = opened.get(key);
    if (watched) {
      const { page, heard } = watched;
      heard.length = 0;
      await page.evaluate((hash) => {
        document.querySelector<HTMLDialogElement>('#publish')?.close();
        scrollTo(0, 0);
        // The page hears of its address later, and shows what it says with the next picture. Where a control has moved and the page has
        // not yet written its address, the one that is given may be the one that stands.
        return new Promise<void>((taken) => {
          addEventListener('hashchange', () => requestAnimationFrame(() => taken()), { once: true });
          const before = location.hash;
          location.hash = hash;
          if (location.hash === before) dispatchEvent(new Event('hashchange'));
        });
      }, fragment);
      await expect.poll(() => page.evaluate(() => location.hash)).toContain(fragment.split('&')[0]);
    } else {
      watched = await open(inside('bench.html'), options, fragment);
      opened.set(key, watched);
    }
    await allDrawn(watched.page);
    return watched;
  }

  return { inside, writeBench, json, report, open, drawn, folder: () => folder.path, html: () => html };
}

export const allDrawn = (page: Page): Promise<unknown> =>
  page.waitForFunction(() => {
    const charts = [...document.querySelectorAll<HTMLElement>('section:not([hidden]) .chart')];
    return charts.length > 0 && charts.every((chart) => chart.dataset.drawn !== undefined);
  });

/** The numbers of a chart as its button saves them, by row. */
export async function saved(page: Page, chart: string): Promise<Record<string, string>[]> {
  const text = (await savedAs(page, chart, 'csv')).toString('utf8');
  return parse(text, { columns: true, comment: '#', comment_no_infix: true }) as Record<string, string>[];
}

/** Text of the page with plain spaces. */
export const plain = (text: string | null): string => (text ?? '').replaceAll('\u00a0', ' ');
