/**
 * What the page of twelve coolers weighs and how fast it is in a real browser: node test/benchmarks/page-timing.mjs [repeats] [coolers]
 *
 * Bars: 3.5 MB; the first picture, which stands in the page's own text, within 1 s; a step of a control in sentence and table within
 * 16 ms and in the charts in view within 60 ms, medians. Prints the least beside them, which another load on the machine moves least,
 * and that load. Needs the build.
 */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';
import { importSource } from './bundle.mjs';

const repeats = Number(process.argv[2] ?? 5);
const coolers = Number(process.argv[3] ?? 12);
const STEPS = 12;
const folder = mkdtempSync(join(tmpdir(), 'heatladder-page-timing-'));
const middle = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];
const ms = (values) => `${middle(values).toFixed(1)} ms (least ${Math.min(...values).toFixed(1)})`;

/** Steps one control; how long until the answer stands and until all charts in view are drawn, and for how long the page was held at most, ms. */
async function steps(page, control, count) {
  return page.evaluate(
    async ({ control, count }) => {
      const input = document.getElementById(control);
      const [min, max, step] = ['min', 'max', 'step'].map((name) => Number(input[name]));
      const told = [];
      const drawn = [];
      const held = [];
      const next = () => new Promise((resolve) => requestAnimationFrame(resolve));
      for (let k = 0; k < count; k++) {
        const share = 0.2 + (0.6 * ((k * 7) % count)) / count;
        await new Promise((resolve) => setTimeout(resolve, 30));
        await next();
        await next();
        const value = min + Math.round((share * (max - min)) / step) * step;
        const start = performance.now();
        input.value = String(value);
        input.dispatchEvent(new Event('input', { bubbles: true }));
        // What the answer costs holds the layout of the page, too.
        document.body.getBoundingClientRect();
        told.push(performance.now() - start);
        let longest = told[k];
        let at = performance.now();
        let mark = 0;
        // The page's own frame callback was asked for first, so it has run when this one does.
        for (let frame = 0; mark < start && frame < 60; frame++) {
          await next();
          document.body.getBoundingClientRect();
          mark = performance.getEntriesByName('charts').at(-1)?.startTime ?? 0;
          const now = performance.now();
          longest = Math.max(longest, now - at);
          at = now;
        }
        drawn.push(at - start);
        held.push(longest);
      }
      return { told, drawn, held };
    },
    { control, count },
  );
}

try {
  const { examplePage } = await importSource('test/benchmarks/example-page.ts');
  const html = examplePage(coolers);
  const path = join(folder, 'report.html');
  writeFileSync(path, html);
  console.log(`page of ${coolers} coolers: ${(html.length / 1e6).toFixed(2)} MB`);
  const browser = await chromium.launch({
    executablePath: '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-gpu', '--disable-background-networking', '--no-first-run'],
  });
  const alive = [];
  const painted = [];
  let page;
  for (let k = 0; k < repeats; k++) {
    await page?.context().close();
    page = await (await browser.newContext({ viewport: { width: 1280, height: 900 } })).newPage();
    await page.goto(pathToFileURL(path).href);
    await page.waitForSelector('#bars-chart[data-drawn]');
    const marks = await page.evaluate(() =>
      Object.fromEntries(
        [...performance.getEntriesByType('mark'), ...performance.getEntriesByType('paint')].map((mark) => [
          mark.name,
          mark.startTime,
        ]),
      ),
    );
    alive.push(marks.controls);
    painted.push(marks['first-contentful-paint']);
  }
  const load = () => `load ${loadavg()[0].toFixed(1)}`;
  console.log(`first picture after ${ms(painted)}, controls alive after ${ms(alive)}; ${load()}`);
  const shown = 'section:not([hidden]) .chart';
  await page.waitForFunction(
    (all) => [...document.querySelectorAll(all)].every((chart) => chart.dataset.drawn === 'yes'),
    shown,
    { timeout: 120_000 },
  );
  const conditions = [
    ['load', 'full', 'load'],
    ['equal sound', 'sound', 'speed-value'],
    ['load at equal sound', 'sound', 'load'],
  ];
  for (const [name, choice, control] of conditions) {
    await page.evaluate(() => scrollTo(0, 0));
    await page.locator(`input[name=speed][value=${choice}]`).check();
    const places = await page
      .locator(shown)
      .evaluateAll((all) => all.map((chart) => chart.closest('[id^=section-]').id));
    for (const place of ['answer', ...places]) {
      await page.evaluate((id) => document.getElementById(id).scrollIntoView(), place);
      await page.waitForTimeout(500);
      const { told, drawn, held } = await steps(page, control, STEPS);
      console.log(
        `${name}, ${place} in view: answer ${ms(told)}, charts ${ms(drawn)}, held ${ms(held)}; ${load()}`,
      );
    }
  }
  await browser.close();
} finally {
  rmSync(folder, { recursive: true, force: true });
}
