"""Peer of reduce-logs.mjs: reads the same logs with pandas and takes their means. usage: reduce-pandas.py FOLDER"""
import glob
import json
import sys
import time

import pandas

paths = sorted(glob.glob(sys.argv[1] + "/*.csv"))
start = time.perf_counter()
frames = [pandas.read_csv(path) for path in paths]
read = time.perf_counter() - start
means = [frame.mean() for frame in frames]
total = time.perf_counter() - start
print(json.dumps({"read": read, "total": total, "version": pandas.__version__}))
