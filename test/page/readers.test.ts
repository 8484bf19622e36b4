import { readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { describe, expect, it } from 'vitest';
import type { CompareResult } from '../../src/answers/compare.ts';
import { init } from '../../src/answers/init.ts';
import type { ScreenResult } from '../../src/answers/screen.ts';
import type { PlanResult } from '../../src/design/planned.ts';
import { heatladder } from '../cli/run-cli.ts';
import { browserWanted, type Watched } from './browser.ts';
import { exampleFiles, MARKUP, partedFiles } from './example-bench.ts';
import { allDrawn, FIRST, plain, saved, shownPage } from './shown-page.ts';

const { inside, writeBench, json, report, open, drawn, folder } = shownPage();
const PHONE = { viewport: { width: 390, height: 844 } };

describe.skipIf(!browserWanted)('the page in the hands of its readers', () => {
  /** A page as it opens, for what comes first with a reader: the keys, then the pointer. */
  let fresh: Promise<Watched> | undefined;
  const asItOpens = (): Promise<Watched> => {
    fresh ??= open(inside('bench.html'));
    return fresh;
  };

  it('works by the keyboard alone', async () => {
    const { page, heard } = await asItOpens();
    await allDrawn(page);
    const focus = (): Promise<string> =>
      page.evaluate(() => {
        const one = document.activeElement as HTMLInputElement;
        return one.id || one.className || `${one.name} ${one.value}`;
      });
    await page.keyboard.press('Tab');
    expect(await focus()).toBe('skip');
    await page.keyboard.press('Tab');
    expect(await focus()).toBe('load');
    const before = await page.locator('#loads').inputValue();
    await page.keyboard.press('ArrowRight');
    expect(await page.locator('#loads').inputValue()).not.toBe(before);
    await page.keyboard.press('Tab');
    expect(await focus()).toBe('loads');
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
  });

  it('answers to the pointer once it has come to a chart', async () => {
    const { page, heard } = await asItOpens();
    await page.evaluate(() => scrollTo(0, 0));
    await page.locator('#bars-chart').hover();
    await page.waitForSelector('#bars-chart[data-drawn=alive]', { timeout: 120_000 });
    expect(await page.locator('#bars-chart .bars .point').count()).toBe(5);
    const bar = await page.locator('#bars-chart .bars .point').first().boundingBox();
    await page.mouse.move((bar?.x ?? 0) + 40, (bar?.y ?? 0) + 8, { steps: 3 });
    await page.waitForSelector('#bars-chart .hoverlayer .hovertext');
    await page.mouse.down();
    await page.mouse.up();
    await expect.poll(() => page.locator('#chosen button').count()).toBe(1);
    expect(heard).toEqual([]);
  }, 180_000);

  it('draws a chart without the library while a control moves, and with it at rest, in the same words', async () => {
    const { page, heard } = await asItOpens();
    await page.waitForSelector('#bars-chart[data-drawn=alive]');
    const moving = await page.evaluate(async () => {
      const load = document.querySelector<HTMLInputElement>('#load')!;
      load.value = '170';
      load.dispatchEvent(new Event('input', { bubbles: true }));
      const chart = document.querySelector<HTMLElement>('#bars-chart')!;
      while (chart.dataset.drawn !== 'yes') await new Promise(requestAnimationFrame);
      return [...chart.querySelectorAll('text')].map((one) => one.textContent?.trim());
    });
    await page.waitForSelector('#bars-chart[data-drawn=alive]');
    const resting = await page
      .locator('#bars-chart text')
      .evaluateAll((all) =>
        all.filter((one) => !one.closest('.hoverlayer')).map((one) => one.textContent?.trim()),
      );
    expect(moving.some((words) => plain(words ?? '').includes('170 W'))).toBe(true);
    expect(resting.sort()).toEqual([...moving].sort());
    expect(heard).toEqual([]);
  });

  it('plans for other hours, at the load and the fans that are shown', async () => {
    const { page, heard } = await drawn('#load=140&fan=80&source=heater&room=22');
    await page.getByLabel('Hours on the bench').fill('3');
    await page.getByRole('button', { name: 'Plan for the load, fans and source shown above' }).click();
    await expect
      .poll(async () => plain(await page.locator('#plan-about').textContent()), { timeout: 60_000 })
      .toContain('Planned for the order at 140 W, heater as the source, fans at 80 %');
    const printed = await json<PlanResult>(
      'plan',
      'bench',
      '--target',
      '140',
      '--fan',
      '80%',
      '--hours',
      '3',
    );
    const curve = await saved(page, 'plan');
    expect(curve.map((row) => row.hours)).toEqual(printed.expected.curve.map(({ hours }) => String(hours)));
    printed.expected.curve.forEach(({ answered }, k) => {
      expect(Math.abs(Number(curve[k].share_decided) - answered!)).toBeLessThanOrEqual(1e-9);
    });
    const rows = await page.locator('#plan-runs tbody tr').allTextContents();
    expect(rows).toHaveLength(printed.runs.length);
    printed.runs.forEach(({ order, cooler, sample, power_W }, k) => {
      expect(rows[k]).toContain(`${order}${cooler}${sample}`);
      expect(rows[k]).toContain(String(power_W));
    });
    // What cannot be planned is said where it was asked.
    await page.getByLabel('Hours on the bench').fill('1');
    await page.getByLabel('Hours on the bench').press('Enter');
    await expect
      .poll(() => page.locator('#section-plan #given-fault, #plan-about').allTextContents(), {
        timeout: 60_000,
      })
      .toSatisfy((all: string[]) => all.some((words) => /give more|with 1 h/.test(plain(words))));
    expect(heard.filter((line) => !line.startsWith('request: blob:'))).toEqual([]);
  }, 180_000);

  it('keeps every word of every chart on a phone', async () => {
    const { page } = await drawn(FIRST, PHONE);
    for (const all of [false, true]) {
      await page.locator('#all-pairs').setChecked(all);
      await page.locator('#pairs-title').scrollIntoViewIfNeeded();
      await expect
        .poll(() =>
          page
            .locator('#pairs-chart text')
            .filter({ hasText: /cooler-\d/ })
            .count(),
        )
        .toBe(all ? 10 : 4);
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
    const { page } = await open(await report('long'), PHONE);
    await page.waitForSelector('#bars-chart[data-drawn]');
    expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(
      0,
    );
    const names = await page
      .locator('#bars-chart text')
      .filter({ hasText: /Alder|number/ })
      .allTextContents();
    expect(new Set(names).size).toBe(4);
    for (const name of names) expect(name).toMatch(/[1-4]/);
  });

  it('prints every chart right after it opens, and no table or chart wider than the sheet', async () => {
    const { page } = await open(inside('bench.html'), { viewport: { width: 680, height: 1000 } });
    await page.evaluate(() => dispatchEvent(new Event('beforeprint')));
    await page.emulateMedia({ media: 'print' });
    const papers = await page
      .locator('section:not([hidden]) .paper')
      .evaluateAll((all) => all.map((one) => one.querySelectorAll('svg text').length));
    expect(papers).toHaveLength(13);
    for (const drawn of papers) expect(drawn).toBeGreaterThan(0);
    const wide = await page.evaluate(() =>
      [...document.querySelectorAll<HTMLElement>('main table, .chart, .paper')]
        .filter((one) => one.getBoundingClientRect().width > 0)
        .filter((one) => one.getBoundingClientRect().right > document.body.getBoundingClientRect().right + 1)
        .map((one) => one.className || one.id),
    );
    expect(wide).toEqual([]);
  });

  it('shows where a fault sits by two logs, with the shares of the command line', async () => {
    writeBench('parted', partedFiles());
    const { page, heard } = await open(await report('parted'));
    await allDrawn(page);
    const { mounts } = await json<ScreenResult>('screen', 'parted');
    const [{ parting, cause }] = mounts.filter((one) => one.parting !== null);
    const { run, beside, at_s, share, expected } = parting!;
    const rows = await saved(page, 'parting');
    const end_K = Number(rows[rows.length - 1].difference_K);
    const at = rows.find((row) => Math.abs(Number(row.time_s) - at_s) <= 1e-9)!;
    // Film and fan are told as parts of the final difference, which is a little more than at the end of the curves.
    const whole_K = Number(at.difference_K) / share;
    expect(end_K / whole_K).toBeGreaterThan(0.9);
    expect(end_K / whole_K).toBeLessThanOrEqual(1);
    expect(Math.abs(Number(at.by_a_film_of_paste_K) / whole_K - expected.interface)).toBeLessThanOrEqual(
      1e-9,
    );
    expect(Math.abs(Number(at.by_a_slow_fan_K) / whole_K - expected.airflow)).toBeLessThanOrEqual(1e-9);
    const about = plain(await page.locator('#parting-about').textContent());
    for (const word of [run, beside, `${Math.round(100 * share)} ±`, `names the cause: ${cause}.`])
      expect(about).toContain(word);
    expect(await page.locator('#parting-run').inputValue()).toBe(run);
    expect(heard.filter((line) => !line.startsWith('request: blob:'))).toEqual([]);
  });

  /** One page opens what readers give it, one after the other. */
  let given: Promise<Watched> | undefined;
  async function openToAny(): Promise<Watched> {
    given ??= open(inside('bench.html'));
    const watched = await given;
    watched.heard.length = 0;
    return watched;
  }

  it('shows the first fault of a folder in the words of the command line, and stays as it was', async () => {
    writeBench(
      'broken',
      new Map([
        ['bench.yaml', 'name: broken\n'],
        ['runs.csv', 'cooler,power_W,fan_rpm,source_C,ambient_C\nA,x,900,40,22\n'],
      ]),
    );
    const { page, heard } = await openToAny();
    const told = await heatladder(['fit', 'broken'], folder());
    await page.locator('#folder').setInputFiles(inside('broken'));
    await expect
      .poll(() => page.locator('#given-fault').textContent(), { timeout: 30_000 })
      .toBe(told.stderr.trimEnd());
    expect(told.stderr).toMatch(/^runs\.csv:2:3: /);
    expect(await page.title()).toBe(`${MARKUP}: coolers compared`);
    expect(heard.filter((line) => !line.startsWith('request: blob:'))).toEqual([]);
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
    const { page, heard } = await openToAny();
    await page.locator('#folder').setInputFiles(inside('second'));
    await expect.poll(() => page.title(), { timeout: 30_000 }).toBe('Second bench: coolers compared');
    await page.locator('#load').fill('150');
    const printed = await json<CompareResult>('compare', 'second', '--power', '150');
    const bars = await saved(page, 'bars');
    printed.loads[0].order.forEach((e, i) => {
      expect(bars[i].cooler).toBe(e.cooler);
      expect(Math.abs(Number(bars[i].high_K) - e.mean_high_K)).toBeLessThanOrEqual(1e-9);
    });
    expect(await page.locator('section:has(> #evidence)').textContent()).toContain('models/own.yaml');
    await page.waitForSelector('#rise-chart[data-drawn]');
    expect(heard.filter((line) => !line.startsWith('request: blob:'))).toEqual([]);
  });

  it('reads a table that is picked, pasted or dropped as import does, and a dropped folder', async () => {
    const table = new TextDecoder().decode(init().get('spreadsheet.csv'));
    const { page, heard } = await openToAny();
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
      .poll(() => page.locator('#given-fault').textContent(), { timeout: 30_000 })
      .toMatch(/^wrong\.csv:1:14: column "power" has no unit/);
    expect(await page.title()).toBe('dropped: coolers compared');
    expect(heard.filter((line) => !line.startsWith('request: blob:'))).toEqual([]);
  }, 180_000);

  it('names strange runs at the top, leaves them out and puts them back, with the numbers of the command line', async () => {
    const odd = new Map<string, Uint8Array | string>(exampleFiles(3));
    const [head, ...rows] = new TextDecoder()
      .decode(odd.get('runs.csv') as Uint8Array)
      .trim()
      .split(/\r?\n/);
    const column = (name: string): number => head.split(',').indexOf(name);
    const at = rows.findIndex((row) => {
      const cells = row.split(',');
      return cells[column('cooler')] === 'cooler-2' && Number(cells[column('power_W')]) > 150;
    });
    const cells = rows[at].split(',');
    const run = cells[column('run')];
    cells[column('source_C')] = (Number(cells[column('source_C')]) + 14).toFixed(1);
    rows[at] = cells.join(',');
    odd.set('runs.csv', `${[head, ...rows].join('\n')}\n`);
    writeBench('odd', odd);
    const { page, heard } = await open(await report('odd'), {}, '#load=150&source=heater&room=22');
    const list = page.locator('#strange');
    expect(plain(await list.textContent())).toMatch(/^(Run|Mount) .*cooler-2.* reads .* K /);
    // The run alone or its whole mount: whatever screening takes it for.
    const name = (await list.locator('button').first().getAttribute('data-without')) ?? '';
    expect([run, 'cooler-2/1/1', 'cooler-2/1/2', 'cooler-2/2/1', 'cooler-2/2/2']).toContain(name);
    await page.getByRole('button', { name: `leave out: ${name}` }).click();
    await expect.poll(() => list.textContent(), { timeout: 60_000 }).toContain(`Left out: ${name}.`);
    expect(await page.locator('#loads').inputValue()).toBe('150');
    const printed = await json<CompareResult>('compare', 'odd', '--power', '150', '--without', name);
    const bars = await saved(page, 'bars');
    printed.loads[0].order.forEach((e, i) => {
      expect(bars[i].cooler).toBe(e.cooler);
      expect(Math.abs(Number(bars[i].rise_K) - e.rise_K)).toBeLessThanOrEqual(1e-9);
      expect(Math.abs(Number(bars[i].high_K) - e.mean_high_K)).toBeLessThanOrEqual(1e-9);
    });
    await page.getByRole('button', { name: `put back: ${name}` }).click();
    await expect.poll(() => list.textContent(), { timeout: 60_000 }).not.toContain('Left out');
    const whole = await json<CompareResult>('compare', 'odd', '--power', '150');
    const again = await saved(page, 'bars');
    expect(Math.abs(Number(again[0].rise_K) - whole.loads[0].order[0].rise_K)).toBeLessThanOrEqual(1e-9);
    expect(heard.filter((line) => !line.startsWith('request: blob:'))).toEqual([]);
  }, 120_000);

  // The markup is the same by day, by night and on a phone: what differs is the colours, and what there is room for.
  it.each([
    ['by day', undefined, {}],
    ['by night', { colorScheme: 'dark' }, { runOnly: ['color-contrast'] }],
    ['on a phone', PHONE, { runOnly: ['target-size', 'scrollable-region-focusable', 'meta-viewport'] }],
  ] as const)(
    'has no fault that axe can find, %s',
    async (_name, options, rules) => {
      const { page, heard } = await drawn('#load=200&sound=36', options);
      await page.evaluate(() => {
        for (const details of document.querySelectorAll('details')) details.open = true;
      });
      const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
      await page.evaluate(axe);
      const faults = await page.evaluate(async (asked) => {
        const { axe } = globalThis as unknown as {
          axe: {
            run: (
              what: object,
              how: object,
            ) => Promise<{ violations: { id: string; nodes: { html: string }[] }[] }>;
          };
        };
        // Further rows of a table are made as its first ones, and what is inside a picture is drawn, not read.
        const left = { exclude: ['tbody tr:nth-child(n + 4)', '.chart svg'] };
        return (await axe.run(left, asked)).violations.map(
          (v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 120)).join(' | ')}`,
        );
      }, rules);
      expect(faults).toEqual([]);
      expect(
        await page.evaluate(() => document.documentElement.scrollWidth - innerWidth),
      ).toBeLessThanOrEqual(0);
      expect(heard).toEqual([]);
    },
    120_000,
  );
});
