/**
 * Places on a plate: everything is measured in mm from the plate's corner, x along its width, y along its depth.
 */
export interface Point {
  x_mm: number;
  y_mm: number;
}

/** A rectangle by its centre and its two sides, sides parallel to those of the plate. */
export interface Rectangle extends Point {
  width_mm: number;
  depth_mm: number;
}

/** A rectangle through which power enters, evenly over its area. */
export interface HeatPatch extends Rectangle {
  power_W: number;
}

export function area_mm2(rectangle: { width_mm: number; depth_mm: number }): number {
  return rectangle.width_mm * rectangle.depth_mm;
}

/** Area that two rectangles share, mm². */
export function sharedArea_mm2(a: Rectangle, b: Rectangle): number {
  const along = (x: number, w: number, u: number, v: number) =>
    Math.max(0, Math.min(x + w / 2, u + v / 2) - Math.max(x - w / 2, u - v / 2));
  return along(a.x_mm, a.width_mm, b.x_mm, b.width_mm) * along(a.y_mm, a.depth_mm, b.y_mm, b.depth_mm);
}

/** @throws RangeError naming the value unless it is a finite number above zero */
export function requirePositive(what: string, value: number): void {
  if (!(Number.isFinite(value) && value > 0)) {
    throw new RangeError(`${what} is ${value}; a finite number above 0 is accepted`);
  }
}
