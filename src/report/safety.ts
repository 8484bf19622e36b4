/** What a bench must have before it heats. Common practice, no source; local codes and electricians come first. */
export const SAFETY_LINES: readonly string[] = [
  'An independent thermal cut-out on the heater block breaks the supply by itself, whatever the software does.',
  'Hot surfaces are guarded against touch; the block stays hot long after the supply is off.',
  'The supply is fused and earthed, and a residual-current device protects its circuit.',
  'The bench never heats unattended.',
  'Pumps and fans are seen to run before any heat is put in.',
  'Beyond the loads run, the temperatures on this page are predictions: raise the load in steps and watch the source.',
  'Local codes, and a licensed electrician where they ask for one, come before anything said here.',
];

/** The same in one sentence, for answers that propose a run or two. */
export const SAFETY_IN_SHORT =
  'Before any heat: an independent thermal cut-out, guards, a fused and earthed supply with residual-current protection, fans and pumps seen to run, and never unattended; local codes and a licensed electrician come first.';
