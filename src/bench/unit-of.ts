import { create, type Unit, unitDependencies } from 'mathjs';

type ReadUnit = (...written: [text: string] | [value: number, unit: string]) => Unit;

let read: ReadUnit | undefined;

/** mathjs's units alone, so that a bundle carries no more of it; made when a unit is first asked for. */
export const unitOf: ReadUnit = (...written) => {
  read ??= create(unitDependencies).unit as ReadUnit;
  return read(...written);
};
