"""The same frame drawn by OpenCV's `remap`; called by warp.rs with the folder it wrote and the depth of the samples."""

import pathlib
import sys
import time

import cv2
import numpy as np

SIDE = 2048
RUNS = 25


def main():
    folder, bits = pathlib.Path(sys.argv[1]), sys.argv[2]
    kind = {"8": np.uint8, "16": np.uint16}[bits]

    def plane(name, kind):
        return np.fromfile(folder / name, kind).reshape(SIDE, SIDE)

    frame, ours = plane("from" + bits, kind), plane("to" + bits, kind)
    x, y, covered = plane("x", np.float32), plane("y", np.float32), plane("covered", np.uint8) > 0
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        drawn = cv2.remap(frame, x, y, cv2.INTER_LINEAR)
        times.append(time.perf_counter() - start)
    off = np.abs(drawn.astype(int) - ours.astype(int))[covered] / np.iinfo(kind).max
    cores = f"OpenCV {cv2.__version__} on {cv2.getNumThreads()} cores"
    print(f"{1e3 * np.median(times):.2f} ms ({cores}; pictures differ by {np.median(off):.5f} of the range, 99 %: {np.quantile(off, 0.99):.5f})")


if __name__ == "__main__":
    main()
