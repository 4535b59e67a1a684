"""Local contrast as OpenCV computes it, for src/scene/window_level/local_contrast.rs.

    pip install opencv-python-headless numpy
    python3 tests/reference/local_contrast.py > tests/reference/local_contrast.csv
"""

import cv2
import numpy as np


def main():
    rng = np.random.default_rng(2026)
    y, x = np.mgrid[0:64, 0:64]
    values = 60 + 50 * np.sin(x / 9.0) + 40 * (y > 30) + rng.normal(0, 6, (64, 64))
    before = np.clip(values, 0, 255).astype(np.uint8)
    after = cv2.createCLAHE(clipLimit=3.0, tileGridSize=(8, 8)).apply(before)
    print(f"# OpenCV {cv2.__version__}: 64 rows of values, then 64 rows of createCLAHE(3.0, (8, 8))")
    for picture in (before, after):
        for row in picture:
            print(",".join(str(int(v)) for v in row))


if __name__ == "__main__":
    main()
