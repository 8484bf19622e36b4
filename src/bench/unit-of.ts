import { create, type Unit, unitDependencies } from 'mathjs';
import { lazily } from '../numerics/lazily.ts';

type ReadUnit = (...written: [text: string] | [value: number, unit: string]) => Unit;

const read = lazily(() => create(unitDependencies).unit as ReadUnit);

/** mathjs's units alone, so that a bundle carries no more of it; made when a unit is first asked for. */
export const unitOf: ReadUnit = (...written) => read()(...written);
