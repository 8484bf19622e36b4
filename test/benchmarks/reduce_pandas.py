"""Peer of reduce-logs.ts: reads the same logs with pandas and takes their means. usage: reduce_pandas.py FOLDER"""
import glob
import sys
import time

import pandas

paths = sorted(glob.glob(sys.argv[1] + "/*.csv"))
for repeat in range(3):
    start = time.perf_counter()
    frames = [pandas.read_csv(path) for path in paths]
    read = time.perf_counter() - start
    means = [frame.mean() for frame in frames]
    total = time.perf_counter() - start
    print(f"pandas {pandas.__version__}: read {read:.3f} s, read and mean {total:.3f} s, {len(paths)} logs")
