import { barsChart } from './bars-chart.ts';
import type { Chart, Shown } from './chart.ts';
import { controlPanel } from './control-chart.ts';
import { differenceChart } from './difference-chart.ts';
import { logChart } from './log-chart.ts';
import { pairsChart } from './pairs-chart.ts';
import { partingChart } from './parting-chart.ts';
import { placeChart } from './place-chart.ts';
import { planChart } from './plan-chart.ts';
import { residualChart } from './residual-chart.ts';
import { riseChart } from './rise-chart.ts';
import { levelsChart, limitsChart, loadsChart, mountsChart, sourcesChart } from './side-by-side-charts.ts';
import { soundChart } from './sound-chart.ts';
import { surfaceChart } from './surface-chart.ts';
import { valueChart } from './value-chart.ts';

/** Every chart, in the order of the page. */
export const CHARTS: readonly Chart[] = [
  barsChart,
  loadsChart,
  differenceChart,
  riseChart,
  placeChart,
  pairsChart,
  soundChart,
  levelsChart,
  limitsChart,
  valueChart,
  sourcesChart,
  planChart,
  residualChart,
  mountsChart,
  partingChart,
  logChart,
  surfaceChart,
  controlPanel,
];

/** Whether a chart has something to show of the bench at this state of the controls. */
export const isShown = (chart: Chart, shown: Shown): boolean =>
  chart.has(shown.answers) && (chart.applies?.(shown) ?? true);
