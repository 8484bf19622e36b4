import { createHash } from 'node:crypto';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { parse } from 'csv-parse/sync';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { init } from '../../src/demo/init.ts';
import type { CompareResult, PredictResult } from '../../src/results.ts';
import { answerAt } from '../../src/tables/answer.ts';
import { heatladder, temporaryFolder } from '../cli/run-cli.ts';
import { browserWanted, openBrowser, openPage, type Watched } from './browser.ts';
import { exampleFiles, MARKUP } from './example-bench.ts';

const folder = temporaryFolder();
const inside = (...parts: string[]): string => join(folder.path, ...parts);
const path = inside('report.html');
let html = '';

function writeBench(name: string, files: ReadonlyMap<string, Uint8Array | string>): void {
  for (const [file, bytes] of files) {
    mkdirSync(join(inside(name), file, '..'), { recursive: true });
    writeFileSync(inside(name, file), bytes);
  }
}

async function json<T>(...args: string[]): Promise<T> {
  const ended = await heatladder([...args, '--json'], folder.path);
  expect(ended.stderr).not.toMatch(/^[^\n]+:\d+:\d+: /);
  return JSON.parse(ended.stdout) as T;
}

beforeAll(async () => {
  writeBench('bench', exampleFiles());
  const ended = await heatladder(['report', 'bench', '-o', 'report.html'], folder.path);
  expect(ended).toMatchObject({ status: 0, stdout: '' });
  html = readFileSync(path, 'utf8');
});
afterAll(folder.remove);

const plain = (text: string | null): string => (text ?? '').replaceAll('\u00a0', ' ');

describe('the page as text', () => {
  it('holds no name as markup', () => {
    expect(html).toContain('Reed Lane &lt;b&gt;bench&lt;/b&gt; &amp; co');
    expect(html).not.toContain('<b>bench');
  });

  it('has a policy that lets nothing in and names no address of the network to load from', () => {
    const policy = /http-equiv="Content-Security-Policy" content="([^"]*)"/.exec(html)?.[1];
    expect(policy).toMatch(
      /^default-src 'none'; script-src( 'sha256-[A-Za-z0-9+/=]{44}'){2}; worker-src blob:; img-src data: blob:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'$/,
    );
    expect(html).not.toMatch(/<(?:link|img|iframe|script)[^>]*\s(?:src|href)=/);
  });

  it('says the answer, the evidence and the safety lines without its script', async () => {
    const body = plain(html.replace(/<script[\s\S]*?<\/script>/g, ''));
    const printed = await json<CompareResult>('compare', 'bench', '--power', '180');
    const [sentence] = answerAt(printed.loads[0], printed);
    expect(body).toContain(sentence.split(': ')[0]);
    for (const [file, bytes] of exampleFiles()) {
      expect(body).toContain(createHash('sha256').update(bytes).digest('hex'));
      expect(body).toContain(file);
    }
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
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(() => browser?.close());

  async function drawn(options: Parameters<Browser['newContext']>[0] = {}, fragment = ''): Promise<Watched> {
    const opened = await openPage(browser, path, options, fragment);
    await opened.page.waitForFunction(() => {
      const charts = [...document.querySelectorAll<HTMLElement>('.chart')];
      return charts.length > 0 && charts.every((chart) => chart.dataset.drawn === 'yes');
    });
    return opened;
  }

  /** The numbers of a chart as its button saves them, by row. */
  async function saved(page: Page, chart: string): Promise<Record<string, string>[]> {
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.locator(`button[data-save="${chart}"][data-format="csv"]`).click(),
    ]);
    return parse(readFileSync(await download.path()), { columns: true }) as Record<string, string>[];
  }

  it('draws every chart, says nothing on the console and asks the network for nothing', async () => {
    const { page, heard } = await drawn();
    expect(
      await page.locator('.chart').evaluateAll((all) => all.map((one) => (one as HTMLElement).dataset.chart)),
    ).toEqual(['bars', 'rise', 'places', 'pairs', 'sound', 'value', 'residuals']);
    for (const chart of await page.locator('.chart').all()) {
      expect(await chart.locator('.scatterlayer .trace').count()).toBeGreaterThan(0);
    }
    expect(heard).toEqual([]);
    await page.context().close();
  });

  it('follows the load in sentence, table and every chart that stands at a load', async () => {
    const { page, heard } = await drawn({ viewport: { width: 1280, height: 9000 } });
    const charts = ['bars', 'rise', 'places', 'pairs', 'sound', 'value'];
    const look = (id: string): Promise<string> => page.locator(`#section-${id} .frame`).innerHTML();
    const before = await Promise.all(charts.map(look));
    // What a star means is said where one is seen.
    expect(await page.locator('#order-rows').textContent()).not.toContain('*');
    expect(await page.locator('#order-foot').isVisible()).toBe(false);
    await page.locator('#load').fill('250');
    expect(await page.locator('#order-foot').isVisible()).toBe(true);
    expect(plain(await page.locator('#load-shown').textContent())).toBe('250 W');
    expect(await page.locator('#load').getAttribute('aria-valuetext')).toBe('250\u00a0W');
    const printed = await json<CompareResult>('compare', 'bench', '--power', '250');
    const [sentence] = answerAt(printed.loads[0], printed);
    const told = plain(
      `${await page.locator('#headline').textContent()} ${await page.locator('#beneath').textContent()}`,
    );
    expect(told.startsWith(sentence.split(': ')[0])).toBe(true);
    const rows = await page.locator('#order-rows tr').allTextContents();
    printed.loads[0].order.forEach((entry, i) => {
      expect(rows[i]).toContain(entry.cooler);
      expect(rows[i]).toContain(`${entry.rise_K.toFixed(1)}*`);
    });
    for (const [i, id] of charts.entries())
      await expect.poll(() => look(id), { message: id }).not.toBe(before[i]);
    expect(heard).toEqual([]);
    await page.context().close();
  });

  it.each([
    ['full speed', [], (_: Page) => Promise.resolve()],
    [
      'a share of the greatest speed and another room',
      ['--fan', '64%', '--ambient', '27.5'],
      async (page: Page) => {
        await page.getByRole('radio', { name: 'a share of it' }).check();
        await page.locator('#speed-value').fill('64');
        await page.locator('#room').fill('27.5');
      },
    ],
    [
      'equal sound',
      ['--sound', '35.5'],
      async (page: Page) => {
        await page.getByRole('radio', { name: 'equal sound' }).check();
        await page.locator('#speed-value').fill('35.5');
      },
    ],
    [
      'a chip as the source',
      ['--source', 'chip-a'],
      (page: Page) =>
        page
          .locator('#source')
          .selectOption('chip-a')
          .then(() => {}),
    ],
  ] as const)('gives the numbers of the command line to 1e-9 at %s', async (_name, options, set) => {
    const { page, heard } = await drawn();
    await set(page);
    await page.locator('#load').fill('217');
    const printed = await json<CompareResult>('compare', 'bench', '--power', '217', ...options);
    const bars = await saved(page, 'bars');
    const { order } = printed.loads[0];
    expect(bars.map((row) => row.cooler)).toEqual(order.map((e) => e.cooler));
    order.forEach((e, i) => {
      expect(Math.abs(Number(bars[i].rise_K) - e.rise_K)).toBeLessThanOrEqual(1e-9);
      expect(Math.abs(Number(bars[i].low_K) - e.mean_low_K)).toBeLessThanOrEqual(1e-9);
      expect(Math.abs(Number(bars[i].high_K) - e.mean_high_K)).toBeLessThanOrEqual(1e-9);
      expect(Math.abs(Number(bars[i].chance_of_the_least_rise) - e.p_best)).toBeLessThanOrEqual(1e-9);
      expect(bars[i].letters).toBe(e.tiers.join(' '));
    });
    const pairs = await saved(page, 'pairs');
    expect(pairs).toHaveLength(printed.pairs.length);
    for (const row of pairs) {
      const pair = printed.pairs.find(
        (p) => [p.a, p.b].includes(row.cooler) && [p.a, p.b].includes(row.cooler_than),
      )!;
      const d = pair.difference[0];
      const [low, high] = pair.a === row.cooler ? [-d.high_K, -d.low_K] : [d.low_K, d.high_K];
      expect(Math.abs(Number(row.low_K) - low)).toBeLessThanOrEqual(1e-9);
      expect(Math.abs(Number(row.high_K) - high)).toBeLessThanOrEqual(1e-9);
    }
    const rise = await saved(page, 'rise');
    const loads = [...new Set(rise.map((row) => row.power_W))].join();
    const predicted = await json<PredictResult>('predict', 'bench', '--power', loads, ...options);
    expect(rise).toHaveLength(predicted.predictions.length);
    predicted.predictions.forEach((p, i) => {
      expect(rise[i].cooler).toBe(p.cooler);
      for (const key of [
        'rise_K',
        'mean_low_K',
        'mean_high_K',
        'run_low_K',
        'run_high_K',
        'fan_rpm',
      ] as const) {
        expect(Math.abs(Number(rise[i][key]) - p[key])).toBeLessThanOrEqual(
          2e-9 * Math.max(1, Math.abs(p[key])),
        );
      }
    });
    expect(heard).toEqual([]);
    await page.context().close();
  });

  it('keeps the controls in the address, and opens where an address says', async () => {
    const { page, heard } = await drawn({}, '#load=233&sound=37&room=25');
    expect(plain(await page.locator('#load-shown').textContent())).toBe('233 W');
    expect(plain(await page.locator('#speed-shown').textContent())).toBe('37 dBA');
    expect(plain(await page.locator('#conditions').textContent())).toContain(
      'equal sound of 37 dBA, room at 25 °C',
    );
    expect(plain(await page.locator('#headline').textContent())).toContain('At 233 W');
    await page.locator('#load').fill('140');
    await expect
      .poll(() => page.evaluate(() => location.hash))
      .toBe('#load=140&sound=37&source=heater&room=25');
    expect(heard).toEqual([]);
    await page.context().close();
  });

  it('draws the coolers, the measure and the pairs that are chosen', async () => {
    const { page, heard } = await drawn();
    await page.locator('#rise-title').scrollIntoViewIfNeeded();
    const marks = page.locator('#rise-chart .points path');
    const all = await marks.count();
    await page.getByRole('checkbox', { name: 'cooler-2' }).uncheck();
    await expect.poll(() => marks.count()).toBeLessThan(all);
    await page.getByRole('radio', { name: 'rise per watt' }).check();
    await expect.poll(() => page.locator('#rise-chart .ytitle').textContent()).toContain('K/W');
    for (const box of await page.getByRole('checkbox').all()) await box.uncheck();
    await expect.poll(() => marks.count()).toBe(0);
    const dots = page.locator('#pairs-chart .points path');
    expect(await dots.count()).toBe(4);
    await page.locator('#against').selectOption('every pair');
    await page.locator('#pairs-title').scrollIntoViewIfNeeded();
    await expect.poll(() => dots.count()).toBe(10);
    expect(heard).toEqual([]);
    await page.context().close();
  });

  it('keeps every word of every chart on a phone', async () => {
    const { page } = await drawn({ viewport: { width: 390, height: 844 } });
    for (const against of ['front', 'all']) {
      await page.locator('#against').selectOption(against);
      await page.locator('#pairs-title').scrollIntoViewIfNeeded();
      await expect
        .poll(() => page.locator('#pairs-chart .points path').count())
        .toBe(against === 'all' ? 10 : 4);
      const cut = await page.locator('.chart').evaluateAll((charts) =>
        charts.flatMap((chart) => {
          const { left, right } = chart.getBoundingClientRect();
          return [...chart.querySelectorAll('text')]
            .filter((text) => text.getBoundingClientRect().width > 0)
            .filter((text) => {
              const own = text.getBoundingClientRect();
              return own.left < left - 1 || own.right > right + 1;
            })
            .map((text) => `${chart.id}: ${text.textContent}`);
        }),
      );
      expect(cut).toEqual([]);
    }
    await page.context().close();
  });

  it('holds names of any length on a phone, and tells them apart in the drawings', async () => {
    const long = new Map(
      [...exampleFiles(4)].map(([file, bytes]) => [
        file,
        new TextDecoder()
          .decode(bytes)
          .replace(/cooler-(\d)/g, 'Alder Tower Extended Edition number $1 with two fans and a fence'),
      ]),
    );
    writeBench('long', long);
    const ended = await heatladder(['report', 'long', '-o', 'long.html'], folder.path);
    expect(ended.status).toBe(0);
    const { page } = await openPage(browser, inside('long.html'), { viewport: { width: 390, height: 844 } });
    await page.waitForSelector('#bars-chart[data-drawn]');
    expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(
      0,
    );
    const names = await page.locator('#bars-chart .ytick text').allTextContents();
    expect(new Set(names).size).toBe(4);
    for (const name of names) expect(name).toMatch(/[1-4]/);
    await page.context().close();
  });

  it('saves a chart as a drawing and as pictures of the sizes it says', async () => {
    const { page, heard } = await drawn();
    for (const [format, width, height] of [
      ['svg', 0, 0],
      ['png-1920', 1920, 1080],
      ['png-3840', 3840, 2160],
    ] as const) {
      const [download] = await Promise.all([
        page.waitForEvent('download'),
        page.locator(`button[data-save="rise"][data-format="${format}"]`).click(),
      ]);
      const bytes = readFileSync(await download.path());
      if (format === 'svg') {
        const text = bytes.toString('utf8');
        expect(text).toMatch(/^<svg[^>]*width="960"[^>]*height="540"/);
        expect(text).toContain('Rise above ambient against load');
      } else {
        expect(bytes.subarray(1, 4).toString()).toBe('PNG');
        expect([bytes.readUInt32BE(16), bytes.readUInt32BE(20)]).toEqual([width, height]);
      }
    }
    expect(heard.filter((line) => !line.startsWith('request: blob:'))).toEqual([]);
    await page.context().close();
  });

  it('says in a saved picture of the runs whose mark is which, and names nothing else', async () => {
    const { page } = await drawn();
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.locator('button[data-save="residuals"][data-format="svg"]').click(),
    ]);
    const text = readFileSync(await download.path(), 'utf8');
    const names = [...text.matchAll(/class="legendtext"[^>]*>([^<]*)</g)].map(([, name]) => name);
    expect(names).toEqual([1, 2, 3, 4, 5].map((k) => `cooler-${k}`));
    await page.context().close();
  });

  it('reads and fits another bench folder, with the numbers of the command line', async () => {
    const other = new Map<string, Uint8Array | string>(exampleFiles(3, 29));
    other.set(
      'bench.yaml',
      new TextDecoder()
        .decode(other.get('bench.yaml') as Uint8Array)
        .replace(/^name:.*$/m, 'name: Second bench'),
    );
    other.set('notes.txt', 'not read');
    other.set(
      'models/own.yaml',
      `name: own\ntitle: A formula of the lab\nsource: the lab\ninputs: {P: W, n: "1"}\nparameters:\n  R0: {unit: K/W, start: 0.1, low: 0.001, high: 2}\n  R1: {unit: K/W, start: 0.08, low: 0.001, high: 2}\nresistance: R0 + R1 / n^0.7\n`,
    );
    writeBench('second', other);
    const { page, heard } = await drawn({}, '#load=111');
    await page.locator('#folder').setInputFiles(inside('second'));
    await expect.poll(() => page.title(), { timeout: 30_000 }).toBe('Second bench: coolers compared');
    await page.locator('#load').fill('150');
    const printed = await json<CompareResult>('compare', 'second', '--power', '150');
    const bars = await saved(page, 'bars');
    printed.loads[0].order.forEach((e, i) => {
      expect(bars[i].cooler).toBe(e.cooler);
      expect(Math.abs(Number(bars[i].high_K) - e.mean_high_K)).toBeLessThanOrEqual(1e-9);
    });
    expect(await page.locator('#evidence').textContent()).toContain('models/own.yaml');
    await page.waitForSelector('#rise-chart[data-drawn]');
    expect(heard.filter((line) => !line.startsWith('request: blob:'))).toEqual([]);
    await page.context().close();
  });

  it('shows the first fault of a folder in the words of the command line, and stays as it was', async () => {
    writeBench(
      'broken',
      new Map([
        ['bench.yaml', 'name: broken\n'],
        ['runs.csv', 'cooler,power_W,fan_rpm,source_C,ambient_C\nA,x,900,40,22\n'],
      ]),
    );
    const { page, heard } = await drawn();
    const told = await heatladder(['fit', 'broken'], folder.path);
    await page.locator('#folder').setInputFiles(inside('broken'));
    await expect
      .poll(() => page.locator('#folder-fault').textContent(), { timeout: 30_000 })
      .toBe(told.stderr.trimEnd());
    expect(told.stderr).toMatch(/^runs\.csv:2:3: /);
    expect(await page.title()).toBe(`${MARKUP}: coolers compared`);
    expect(heard.filter((line) => !line.startsWith('request: blob:'))).toEqual([]);
    await page.context().close();
  });

  it('reads a table that is picked, pasted or dropped as import does, and a dropped folder', async () => {
    const table = new TextDecoder().decode(init().get('spreadsheet.csv'));
    const { page, heard } = await drawn();
    writeFileSync(inside('table.csv'), table);
    await page.locator('#table').setInputFiles(inside('table.csv'));
    await expect.poll(() => page.title(), { timeout: 30_000 }).toBe('table: coolers compared');
    expect(await page.locator('#read-as').textContent()).toContain('Leistung [W]          power_W');
    expect(await page.locator('#read-as').textContent()).toContain('line 11 left out: is a summary');
    await page.evaluate(
      (text) => {
        const clipboardData = new DataTransfer();
        clipboardData.setData('text', text);
        document
          .getElementById('pasted')
          ?.dispatchEvent(new ClipboardEvent('paste', { clipboardData, bubbles: true }));
      },
      table.replaceAll(';', '\t'),
    );
    await expect.poll(() => page.title(), { timeout: 30_000 }).toBe('pasted table: coolers compared');
    const drop = (files: [string, string][]) =>
      page.evaluate((list) => {
        const dataTransfer = new DataTransfer();
        for (const [name, text] of list) dataTransfer.items.add(new File([text], name));
        document
          .getElementById('another')
          ?.dispatchEvent(new DragEvent('drop', { dataTransfer, bubbles: true }));
      }, files);
    const runs =
      'cooler,mount,power_W,fan_rpm,source_C,ambient_C\nPlover,1,90,900,40,22\nPlover,2,150,900,52,22\n';
    await drop([
      ['bench.yaml', 'name: dropped'],
      ['runs.csv', runs],
    ]);
    await expect.poll(() => page.title(), { timeout: 30_000 }).toBe('dropped: coolers compared');
    await drop([['wrong.csv', runs.replace('power_W', 'power')]]);
    await expect
      .poll(() => page.locator('#folder-fault').textContent(), { timeout: 30_000 })
      .toMatch(/^wrong\.csv:1:14: column "power" has no unit/);
    expect(await page.title()).toBe('dropped: coolers compared');
    expect(heard.filter((line) => !line.startsWith('request: blob:'))).toEqual([]);
    await page.context().close();
  });

  it('prints tables and charts no wider than the sheet', async () => {
    const { page } = await drawn({ viewport: { width: 680, height: 1000 } });
    await page.emulateMedia({ media: 'print' });
    await page.evaluate(() => dispatchEvent(new Event('beforeprint')));
    const wide = await page.evaluate(() =>
      [...document.querySelectorAll<HTMLElement>('main table, .chart')]
        .filter((one) => one.getBoundingClientRect().width > 0)
        .filter((one) => one.getBoundingClientRect().right > document.body.getBoundingClientRect().right + 1)
        .map((one) => one.className || one.id),
    );
    expect(wide).toEqual([]);
    await page.context().close();
  });

  it('works by the keyboard alone', async () => {
    const { page, heard } = await drawn();
    const focus = (): Promise<string> =>
      page.evaluate(() => {
        const one = document.activeElement as HTMLInputElement;
        return one.id || one.className || `${one.name} ${one.value}`;
      });
    await page.keyboard.press('Tab');
    expect(await focus()).toBe('skip');
    await page.keyboard.press('Tab');
    expect(await focus()).toBe('load');
    const before = await page.locator('#load-shown').textContent();
    await page.keyboard.press('ArrowRight');
    expect(await page.locator('#load-shown').textContent()).not.toBe(before);
    await page.keyboard.press('Tab');
    expect(await focus()).toBe('speed full');
    await page.keyboard.press('ArrowRight');
    expect(plain(await page.locator('#conditions').textContent())).toContain('fans at 70 %');
    await page.keyboard.press('Tab');
    await page.keyboard.press('ArrowLeft');
    expect(plain(await page.locator('#conditions').textContent())).toContain('fans at 69 %');
    for (const wanted of ['source', 'room']) {
      await page.keyboard.press('Tab');
      expect(await focus()).toBe(wanted);
    }
    for (let i = 0; i < 80 && (await focus()) !== 'folder'; i++) await page.keyboard.press('Tab');
    expect(await focus()).toBe('folder');
    expect(heard).toEqual([]);
    await page.context().close();
  });

  it.each([
    ['by day', {}],
    ['by night', { colorScheme: 'dark' }],
    ['on a phone', { viewport: { width: 390, height: 844 } }],
  ] as const)('has no fault that axe can find, %s', async (_name, options) => {
    const { page, heard } = await drawn(options, '#load=200&sound=36');
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
