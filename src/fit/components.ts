/**
 * The scatters of a bench, in the order used throughout.
 *
 * - `sample`, `mount`, `session`: a resistance in series that differs from specimen to specimen, from fitting to
 *   fitting and from one paste batch to the next, K/W; in the rise it grows with the load.
 * - `reading`: run to run within one mount, K.
 * - `shape`: how far the true curve lies from the best curve of a formula, as a share of the cooler's resistance; it
 *   belongs to the cooler, not to the mount, and is smooth in load and speed. Formulas are approximations.
 * - `speed`: how far the air side's true curve over ln(speed) bends away from a formula's, as a share of the cooler's
 *   resistance at that speed; nothing at full speed, and more the farther from it.
 */
export const COMPONENTS = ['sample', 'mount', 'session', 'reading', 'shape', 'speed'] as const;
export type Component = (typeof COMPONENTS)[number];
/** Places of the scatters in every list of them. */
export const SAMPLE = 0;
export const MOUNT = 1;
export const SESSION = 2;
export const READING = 3;
export const SHAPE = 4;
export const SPEED = 5;
