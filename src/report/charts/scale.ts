import { plain } from '../../answers/text/wording.ts';
import type { Shown } from './chart.ts';

/** How the charts of a rise are drawn: as the rise above ambient, or as the temperature of the source in the stated room. */
export interface RiseScale {
  /** What is added to a rise, K. */
  add: number;
  unit: 'K' | '°C';
  /** What it is, as a heading begins. */
  name: 'Rise' | 'Source temperature';
  /** Words of the axis, the unit included. */
  axis: (where?: string) => string;
}

export function riseScale({ state, view }: Pick<Shown, 'state' | 'view'>): RiseScale {
  if (view.unit === 'K') {
    return { add: 0, unit: 'K', name: 'Rise', axis: (where = '') => `rise above ambient${where}, K` };
  }
  const room = `room at ${plain(state.ambient_C)} °C`;
  return {
    add: state.ambient_C,
    unit: '°C',
    name: 'Source temperature',
    axis: (where = '') => `source temperature${where}, ${room}, °C`,
  };
}
