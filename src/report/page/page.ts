import { answerAt } from '../../tables/answer.ts';
import { load } from '../../tables/wording.ts';
import { unparted } from './escape.ts';
import { colourProperty } from './marks.ts';
import { orderCaption, orderRows, orderScale, pairRows } from './order-table.ts';
import { type PageData, unpackCompare } from './page-data.ts';
import { type Plotly, unpackPlotly } from './plotly.ts';
import { type Ink, riseLayout, riseTraces, type View } from './rise-chart.ts';

/** The page's script: the load control drives the answer, the tables and the mark in the chart. */

function byId<T extends HTMLElement>(id: string): T {
  const found = document.getElementById(id);
  if (found === null) throw new Error(`the page has no element "${id}"`);
  return found as T;
}

const data = JSON.parse(byId('page-data').textContent ?? '') as PageData;
const compare = unpackCompare(data.compare);
const places = new Map(data.coolers.map((c, i) => [c.cooler, i]));

const slider = byId<HTMLInputElement>('load');
let plotly: Plotly | undefined;
let drawn = false;
let wantedLine_W = 0;

function ink(): Ink {
  const style = getComputedStyle(document.documentElement);
  const colour = (name: string): string => style.getPropertyValue(name).trim();
  return {
    text: colour('--text'),
    quiet: colour('--quiet'),
    rule: colour('--rule'),
    paper: colour('--paper'),
    hue: (place) => colour(colourProperty(place)),
  };
}

const chosen = (): number => Math.min(compare.loads.length - 1, Math.max(0, Number(slider.value)));

function showLoad(): void {
  const index = chosen();
  const at = compare.loads[index];
  if (at === undefined) return;
  const words = unparted(load(at.power_W));
  slider.setAttribute('aria-valuetext', words);
  byId('load-shown').textContent = words;
  const [headline, ...rest] = answerAt(at, compare);
  byId('headline').textContent = unparted(headline);
  byId('beneath').textContent = unparted(rest.join(' '));
  byId('order-caption').textContent = unparted(orderCaption(at, compare.level));
  byId('order-scale').innerHTML = orderScale(at);
  byId('order-rows').innerHTML = orderRows(at, places);
  for (const place of document.querySelectorAll('.load-here')) place.textContent = words;
  if (byId<HTMLDetailsElement>('pairs').open) showPairs();
  moveLine(at.power_W);
}

let lineAsked = false;

/** Moves the chart's line at the next picture, once however often the control has moved until then. */
function moveLine(power_W: number): void {
  wantedLine_W = power_W;
  if (!drawn || lineAsked) return;
  lineAsked = true;
  requestAnimationFrame(() => {
    lineAsked = false;
    void plotly?.relayout(byId('rise-chart'), { 'shapes[0].x0': wantedLine_W, 'shapes[0].x1': wantedLine_W });
  });
}

function showPairs(): void {
  byId('pair-rows').innerHTML = pairRows(compare, chosen(), places);
}

/** The chart's own choices: what is drawn, and which coolers. */
function view(): View {
  const boxes = [...document.querySelectorAll<HTMLInputElement>('#drawn input')];
  const measure = document.querySelector<HTMLInputElement>('input[name=measure]:checked')?.value;
  return {
    data,
    measure: measure === 'resistance' ? 'resistance' : 'rise',
    drawn: boxes.map((box) => box.checked),
  };
}

function draw(): void {
  if (plotly === undefined) return;
  const place = byId('rise-chart');
  const width = place.clientWidth;
  const height = Math.round(Math.min(520, Math.max(320, width * 0.58)));
  const colours = ink();
  const layout = riseLayout(view(), colours, compare.loads[chosen()]?.power_W ?? 0, width, height);
  void plotly.react(place, riseTraces(view(), colours), layout, { displayModeBar: false }).then(() => {
    if (!drawn) performance.mark('chart');
    drawn = true;
    place.dataset.drawn = 'yes';
  });
}

slider.addEventListener('input', showLoad);
byId('choice').addEventListener('change', draw);
byId('pairs').addEventListener('toggle', showPairs);
slider.disabled = false;
showLoad();
document.documentElement.dataset.ready = 'yes';
performance.mark('controls');

/** After the first picture stands, so that the large library holds nothing up. */
requestAnimationFrame(() => {
  setTimeout(() => {
    unpackPlotly(byId('plotly-packed'))
      .then((library) => {
        plotly = library;
        draw();
      })
      .catch(() => {
        byId('rise-chart').textContent =
          'This browser cannot draw the chart; the table below holds the same numbers.';
      });
  }, 30);
});

let waiting = 0;
addEventListener('resize', () => {
  clearTimeout(waiting);
  waiting = setTimeout(draw, 120) as unknown as number;
});
matchMedia('(prefers-color-scheme: dark)').addEventListener('change', draw);
addEventListener('beforeprint', draw);
addEventListener('afterprint', draw);
