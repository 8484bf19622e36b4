import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { answerAt } from '../../src/tables/answer.ts';
import { browserWanted, openBrowser, openPage, type Watched } from './browser.ts';
import { EXAMPLE_LOADS, examplePage } from './example-page.ts';

const folder = mkdtempSync(join(tmpdir(), 'heatladder-page-'));
const path = join(folder, 'report.html');
const example = examplePage();
writeFileSync(path, example.html);
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const plain = (text: string | null): string => (text ?? '').replaceAll('\u00a0', ' ');

describe('the page as text', () => {
  it('holds no name as markup', () => {
    expect(example.html).toContain('Reed Lane &lt;b&gt;bench&lt;/b&gt; &amp; co');
    expect(example.html).not.toContain('<b>bench');
    expect(example.html).not.toContain('<script>alert');
  });

  it('has a policy that lets nothing in and names no address of the network to load from', () => {
    const policy = /http-equiv="Content-Security-Policy" content="([^"]*)"/.exec(example.html)?.[1];
    expect(policy).toMatch(
      /^default-src 'none'; script-src( 'sha256-[A-Za-z0-9+/=]{44}'){2}; worker-src blob:; img-src data: blob:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'$/,
    );
    expect(example.html).not.toMatch(/<(?:link|img|iframe|script)[^>]*\s(?:src|href)=/);
  });

  it('says the answer and the safety lines without its script', () => {
    const body = plain(example.html.replace(/<script[\s\S]*?<\/script>/g, ''));
    const at = example.compare.loads[example.data.start];
    expect(body).toContain(answerAt(at, example.compare)[0]);
    for (const words of [
      'cut-out',
      'guarded',
      'fused and earthed',
      'unattended',
      'Pumps and fans',
      'electrician',
    ]) {
      expect(body).toContain(words);
    }
  });
});

describe.skipIf(!browserWanted)('the page in a browser', () => {
  let browser: Browser;
  let opened: Watched;
  beforeAll(async () => {
    browser = await openBrowser();
    opened = await openPage(browser, path);
  });
  afterAll(() => browser?.close());

  it('draws its chart, says nothing on the console and asks the network for nothing', async () => {
    await opened.page.waitForSelector('#rise-chart[data-drawn] .scatterlayer .trace');
    const marks = await opened.page.locator('#rise-chart .points path').count();
    expect(marks).toBe(example.data.coolers.reduce((sum, c) => sum + c.runs.length, 0));
    expect(opened.heard).toEqual([]);
  });

  it('follows the load control in sentence, table, pairs and chart', async () => {
    const { page } = opened;
    await page.waitForSelector('#rise-chart[data-drawn]');
    await page.locator('#pairs summary').click();
    const shapes = page.locator('#rise-chart .layer-above > .shapelayer');
    const index = EXAMPLE_LOADS.indexOf(300);
    const before = {
      table: await page.locator('#order-rows').innerHTML(),
      pairs: await page.locator('#pair-rows').innerHTML(),
    };
    const pathBefore = await shapes.innerHTML();
    await page.locator('#load').fill(String(index));
    const at = example.compare.loads[index];
    expect(plain(await page.locator('#headline').textContent())).toBe(answerAt(at, example.compare)[0]);
    expect(plain(await page.locator('#load-shown').textContent())).toBe('300 W');
    expect(await page.locator('#load').getAttribute('aria-valuetext')).toBe('300\u00a0W');
    expect(await page.locator('#order-rows').innerHTML()).not.toBe(before.table);
    expect(await page.locator('#pair-rows').innerHTML()).not.toBe(before.pairs);
    const rows = await page.locator('#order-rows tr').allTextContents();
    expect(rows).toHaveLength(at.order.length);
    at.order.forEach((entry, i) => {
      expect(rows[i]).toContain(entry.cooler);
      expect(rows[i]).toContain(`${entry.rise_K.toFixed(1)}*`);
    });
    await expect.poll(() => shapes.innerHTML()).not.toBe(pathBefore);
    expect(opened.heard).toEqual([]);
  });

  it('draws the coolers and the measure that are chosen', async () => {
    const { page, heard } = await openPage(browser, path);
    await page.waitForSelector('#rise-chart[data-drawn]');
    const marks = page.locator('#rise-chart .points path');
    const all = await marks.count();
    await page.getByRole('checkbox', { name: 'Wren Low' }).uncheck();
    await expect.poll(() => marks.count()).toBe(all - example.data.coolers[5].runs.length);
    await page.getByRole('radio', { name: 'rise per watt' }).check();
    await expect.poll(() => page.locator('#rise-chart .ytitle').textContent()).toContain('K/W');
    for (const box of await page.getByRole('checkbox').all()) await box.uncheck();
    await expect.poll(() => marks.count()).toBe(0);
    expect(heard).toEqual([]);
    await page.context().close();
  });

  it('works by the keyboard alone', async () => {
    const { page, heard } = await openPage(browser, path);
    await page.keyboard.press('Tab');
    expect(await page.evaluate(() => document.activeElement?.className)).toBe('skip');
    await page.keyboard.press('Tab');
    expect(await page.evaluate(() => document.activeElement?.id)).toBe('load');
    const before = await page.locator('#load-shown').textContent();
    await page.keyboard.press('ArrowRight');
    expect(await page.locator('#load-shown').textContent()).not.toBe(before);
    expect(heard).toEqual([]);
    await page.context().close();
  });

  it.each([
    ['by day', {}],
    ['by night', { colorScheme: 'dark' }],
    ['on a phone', { viewport: { width: 390, height: 844 } }],
  ] as const)('has no fault that axe can find, %s', async (_name, options) => {
    const { page, heard } = await openPage(browser, path, options);
    await page.waitForSelector('#rise-chart[data-drawn]');
    await page.evaluate(() => {
      for (const details of document.querySelectorAll('details')) details.open = true;
    });
    const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
    await page.evaluate(axe);
    const faults = await page.evaluate(async () => {
      const { axe } = globalThis as unknown as {
        axe: { run: () => Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> };
      };
      return (await axe.run()).violations.map(
        (v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 120)).join(' | ')}`,
      );
    });
    expect(faults).toEqual([]);
    expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(
      0,
    );
    expect(heard).toEqual([]);
    await page.context().close();
  });
});
