import { create, type Unit, unitDependencies } from 'mathjs';

/** mathjs's units alone, so that a bundle carries no more of it. */
export const { unit: unitOf } = create(unitDependencies) as { unit: (value: number, unit: string) => Unit };
