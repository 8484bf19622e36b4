import path from 'node:path';
import type { Bench } from '../bench/bench.ts';
import { ColumnRoom, type LogBlocks } from '../logs/log-blocks.ts';
import { scannerWithin } from '../logs/log-scanner.ts';
import { type LogScans, logReading } from '../logs/log-source.ts';
import { piecesOf } from './file-pieces.ts';

const pieceLength = 1024 * 1024;

/**
 * The logs of a bench folder, each scanned from the disk when it is asked for and then forgotten: memory grows neither
 * with their length nor with their number. A log is valid until the next one is asked for.
 */
export function logsOnDisk(folder: string, bench: Bench): LogScans {
  const room = new ColumnRoom();
  const buffer = new Uint8Array(pieceLength);
  const logs = path.join(folder, 'logs');
  return {
    get(log: string): LogBlocks {
      const scanner = scannerWithin(room, `logs/${log}`, logReading(bench, log));
      for (const piece of piecesOf(`${logs}${path.sep}${log}`, `logs/${log}`, buffer)) {
        scanner.push(piece);
      }
      return scanner.finish();
    },
  };
}
