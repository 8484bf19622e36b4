import { existsSync, readFileSync } from 'node:fs';
import { type Browser, chromium, type Page } from 'playwright-core';

const CHROMIUM = '/usr/bin/chromium';
const QUIET = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  '--no-first-run',
  '--disable-quic',
];

/** Browser tests run where there is a browser; `HEATLADDER_BROWSER=required` makes its absence a failure. */
export const browserWanted = existsSync(CHROMIUM) || process.env.HEATLADDER_BROWSER === 'required';

export function openBrowser(): Promise<Browser> {
  return chromium.launch({ executablePath: CHROMIUM, args: QUIET });
}

export interface Watched {
  page: Page;
  /** Console messages, errors, and requests beyond the page's own file. */
  heard: string[];
}

/** A page from a file, with everything it says or asks for written down. */
export async function openPage(
  browser: Browser,
  path: string,
  options: Parameters<Browser['newContext']>[0] = {},
  fragment = '',
): Promise<Watched> {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, ...options });
  const page = await context.newPage();
  const heard: string[] = [];
  page.on('console', (message) => heard.push(`console ${message.type()}: ${message.text()}`));
  page.on('pageerror', (error) => heard.push(`error: ${error.message}`));
  page.on('request', (request) => {
    if (request.url().split('#')[0] !== `file://${path}`)
      heard.push(`request: ${request.url().slice(0, 100)}`);
  });
  await page.goto(`file://${path}${fragment}`);
  await page.waitForSelector('html[data-ready]');
  return { page, heard };
}

/** What is saved of a chart in a format; the dialogue is closed again. */
export async function savedAs(
  page: Page,
  chart: string,
  format: string,
  set?: () => Promise<void>,
): Promise<Buffer> {
  await page.locator(`button[data-publish="${chart}"]`).click();
  await set?.();
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.locator(`#publish button[data-format="${format}"]`).click(),
  ]);
  await page.locator('#publish-close').click();
  return readFileSync(await download.path());
}
