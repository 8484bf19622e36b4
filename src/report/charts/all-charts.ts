import { barsChart } from './bars-chart.ts';
import type { Chart } from './chart.ts';
import { controlPanel } from './control-chart.ts';
import { pairsChart } from './pairs-chart.ts';
import { placeChart } from './place-chart.ts';
import { residualChart } from './residual-chart.ts';
import { riseChart } from './rise-chart.ts';
import { soundChart } from './sound-chart.ts';
import { valueChart } from './value-chart.ts';

/** Every chart, in the order of the page. */
export const CHARTS: readonly Chart[] = [
  barsChart,
  riseChart,
  placeChart,
  pairsChart,
  soundChart,
  valueChart,
  residualChart,
  controlPanel,
];
