/** Calls the last of several calls in a row, once they have ceased for so long, ms. */
export function atRest(wait: number): (call: () => void) => void {
  let timer = 0;
  return (call) => {
    clearTimeout(timer);
    timer = setTimeout(call, wait) as unknown as number;
  };
}
