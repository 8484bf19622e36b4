import { writeSync } from 'node:fs';

/** Every byte of it, or the fault of the system: one call may write less than it was given, as on a disk that fills. */
export function writeAll(descriptor: number, bytes: Uint8Array): void {
  let at = 0;
  while (at < bytes.length) at += writeSync(descriptor, bytes, at, bytes.length - at);
}
