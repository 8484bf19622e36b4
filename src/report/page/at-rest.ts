/** Calls the last of several calls in a row, once they have ceased for so long, ms. */
export function atRest(wait: number): (call: () => void) => void {
  let timer = 0;
  return (call) => {
    clearTimeout(timer);
    timer = setTimeout(call, wait) as unknown as number;
  };
}

/** Work is done for so long at a time, ms: a control that moves meanwhile is heard at once. */
const SLICE = 12;

/** Takes the last of several works in a row to its end, a slice at a time between other tasks. */
export function inSlices(): (work: Iterator<unknown>) => void {
  let timer = 0;
  return (work) => {
    clearTimeout(timer);
    const slice = (): void => {
      const end = performance.now() + SLICE;
      while (performance.now() < end) if (work.next().done) return;
      timer = setTimeout(slice) as unknown as number;
    };
    timer = setTimeout(slice) as unknown as number;
  };
}
