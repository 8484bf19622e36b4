import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { parse } from 'csv-parse/sync';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { SessionsResult } from '../../src/answers/sessions.ts';
import { heatladder, temporaryFolder } from '../cli/run-cli.ts';
import { browserWanted, openBrowser, openPage, savedAs } from './browser.ts';
import { methodsFiles, monthsFiles } from './example-bench.ts';

const folder = temporaryFolder();
const path = join(folder.path, 'report.html');
let told: SessionsResult;

function writeFiles(name: string, files: ReadonlyMap<string, Uint8Array>): void {
  for (const [file, bytes] of files) {
    mkdirSync(join(folder.path, name, file, '..'), { recursive: true });
    writeFileSync(join(folder.path, name, file), bytes);
  }
}

beforeAll(async () => {
  writeFiles('bench', monthsFiles());
  const ended = await heatladder(['report', 'bench', '-o', 'report.html'], folder.path);
  expect(ended.status).toBe(0);
  told = JSON.parse(
    (await heatladder(['sessions', 'bench', '--json'], folder.path)).stdout,
  ) as SessionsResult;
});
afterAll(folder.remove);

describe.skipIf(!browserWanted)('the page of a bench with months behind it', () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(() => browser?.close());

  it('draws the control chart of the reference cooler with the numbers of the command line', async () => {
    const { page, heard } = await openPage(browser, path);
    await page.waitForSelector('#control-chart[data-drawn]');
    const large = await page
      .locator('#control-chart path[transform]')
      .evaluateAll((all) => all.filter((one) => /scale\(2/.test(one.getAttribute('transform') ?? '')).length);
    const csv = (await savedAs(page, 'control', 'csv')).toString('utf8');
    const rows = parse(csv, { columns: true, comment: '#', comment_no_infix: true }) as Record<
      string,
      string
    >[];
    const chart = told.control_chart;
    const points = chart?.series.flatMap((one) => one.points) ?? [];
    expect(rows).toHaveLength(points.length);
    points.forEach((point, i) => {
      expect(rows[i]).toMatchObject({ session: point.session, state: point.state });
      for (const [column, value] of [
        ['shift_K', point.value_K],
        ['moving_average_K', point.average_K],
        ['limit_K', point.limit_K],
      ] as const) {
        if (value === null) expect(rows[i][column]).toBe('');
        else expect(Math.abs(Number(rows[i][column]) - value)).toBeLessThanOrEqual(1e-9);
      }
    });
    const picture = (await savedAs(page, 'control', 'svg')).toString('utf8');
    // The picture says what its marks are, and no condition of the controls: it follows none.
    const words = picture.replace(/<[^>]*>/g, ' ').replace(/\s+/g, ' ');
    expect(words).toContain('The dashed lines are limits');
    expect(picture).not.toContain('full fan speed');
    // The probe that sat off in autumn: found, and marked in the drawing once for each series that finds it.
    const out = points.filter((point) => point.state === 'out of control');
    expect(out.map((point) => point.session)).toContain('autumn');
    expect(chart?.verdict).toMatch(/ is out of control in session autumn: /);
    expect(large).toBe(out.length);
    expect(await page.locator('#control-about').textContent()).toContain(chart?.verdict);
    expect(heard.filter((line) => !line.startsWith('request: blob:'))).toEqual([]);
    await page.context().close();
  });

  it('keeps the names of many sessions apart on a phone, and those of two methods their own', async () => {
    writeFiles('methods', methodsFiles());
    const reported = await heatladder(['report', 'methods', '-o', 'methods.html'], folder.path);
    expect(reported.status).toBe(0);
    const listed = JSON.parse(
      (await heatladder(['sessions', 'methods', '--json'], folder.path)).stdout,
    ) as SessionsResult;
    const { page } = await openPage(browser, join(folder.path, 'methods.html'), {
      viewport: { width: 390, height: 844 },
    });
    await page.waitForSelector('#control-chart[data-drawn]');
    // Runs carried over to the present method are compared, not charted: the chart is that of the command line.
    expect(await page.locator('#control-about').textContent()).toContain(listed.control_chart?.verdict);
    const labels = await page
      .locator('#control-chart text')
      .filter({ hasText: /^2024 / })
      .evaluateAll((all) =>
        all.map((one) => {
          const { left, right } = one.getBoundingClientRect();
          return {
            text: one.textContent,
            left,
            right,
            tilted: /rotate\(-[1-9]/.test(String(one.getAttribute('transform'))),
          };
        }),
      );
    expect(labels.map(({ text }) => text)).toEqual(listed.sessions.map(({ session }) => session));
    expect(Math.min(...labels.map(({ left }) => left))).toBeGreaterThanOrEqual(0);
    labels.slice(1).forEach((label, i) => {
      expect(label.tilted || label.left > labels[i].right, label.text ?? '').toBe(true);
    });
    await page.context().close();
  });

  it('shows the record of what was published, with the identity of the data', async () => {
    const { page, heard } = await openPage(browser, path);
    const record = page.locator('section[aria-labelledby="record-title"]');
    const words = await record.textContent();
    expect(words).toContain(told.record?.dataset);
    expect(words).toContain('spring round-up <b>, published 2025-03-14');
    expect(words).toContain('because probe fell off & hung');
    expect(words).toContain('Corrected on 2025-04-02: the autumn session set aside');
    expect(words).toContain(told.record?.charts[0].verdict);
    // A folder opened in the page has its record and its control chart too.
    await page.locator('#folder').setInputFiles(join(folder.path, 'bench'));
    await expect
      .poll(() => page.locator('#spoken').textContent(), { timeout: 30_000 })
      .toContain('is read and fitted');
    expect(await record.textContent()).toBe(words);
    expect(await page.locator('#control-chart').count()).toBe(1);
    expect(heard.filter((line) => !line.startsWith('request: blob:'))).toEqual([]);
    await page.context().close();
  });

  it.each([
    ['by day', {}],
    ['on a phone by night', { colorScheme: 'dark', viewport: { width: 390, height: 844 } }],
  ] as const)('has no fault that axe can find, %s', async (_name, options) => {
    const { page } = await openPage(browser, path, options);
    await page.waitForSelector('#control-chart[data-drawn]');
    await page.evaluate(readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8'));
    const faults = await page.evaluate(async () => {
      const { axe } = globalThis as unknown as {
        axe: { run: () => Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> };
      };
      return (await axe.run()).violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html).join(' | ')}`);
    });
    expect(faults).toEqual([]);
    expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(
      0,
    );
    await page.context().close();
  });
});
