/** An answer that is worked out in steps, so that whoever waits for it can do other things between them. */
export type InSteps<T> = Generator<undefined, T, undefined>;

/** The answer after all of its steps at once. */
export function finished<T>(steps: InSteps<T>): T {
  for (;;) {
    const { done, value } = steps.next();
    if (done) return value;
  }
}
