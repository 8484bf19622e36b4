/** Zeros of a continuous function, by steps and then by halving to 1e-6. */
export function signChanges(f: (x: number) => number, low: number, high: number, step: number): number[] {
  const zeros: number[] = [];
  let left = low;
  let fLeft = f(left);
  for (let right = low + step; right <= high; right += step) {
    const fRight = f(right);
    if (fLeft !== 0 && fLeft * fRight <= 0) {
      let a = left;
      let b = right;
      while (b - a > 1e-6) {
        const middle = (a + b) / 2;
        if (fLeft * f(middle) > 0) a = middle;
        else b = middle;
      }
      zeros.push((a + b) / 2);
    }
    left = right;
    fLeft = fRight;
  }
  return zeros;
}
