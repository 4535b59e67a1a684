"""The same figure with matplotlib: a 1024² still with borders, bands, tip, words, legend, to PNG, PDF and SVG. See README.md here."""

import io
import statistics
import time

import matplotlib
import numpy as np

matplotlib.use("Agg")
from matplotlib import pyplot as plt  # noqa: E402

y, x = np.mgrid[0:1024, 0:1024]
STILL = 20000 + 16 * (x + y) + 37 * ((x * 7 + y * 13) % 31)
# 175 mm wide, as many pixels to an inch as the library's figure has.
WIDTH_IN, DPI = 175 / 25.4, 2100 / (175 / 25.4)


def figure(ending):
    fig = plt.figure(figsize=(WIDTH_IN, WIDTH_IN * 1.2), dpi=DPI)
    ax = fig.add_axes([0.02, 0.2, 0.96, 0.96 / 1.2])
    ax.imshow(STILL, cmap="gray", interpolation="nearest")
    ax.set_axis_off()
    border = [(612, 405), (540, 416), (468, 418), (462, 521), (533, 505), (605, 498), (607, 452), (612, 405)]
    ax.plot(*zip(*border), color="white", lw=1, label="border of the body")
    ax.plot([560, 555], [412, 503], color="#56b4e9", lw=1, label="depth of the target")
    ax.plot([530, 525], [415, 506], color="#56b4e9", lw=1)
    ax.plot([610, 465], [440, 455], color="#e69f00", lw=1, ls="--", label="height of the target")
    ax.plot([609, 464], [470, 485], color="#e69f00", lw=1, ls="--")
    ax.plot([900, 620], [380, 440], color="white", lw=1, ls="-.", label="cannula")
    ax.plot(550.4, 460.9, "o", color="#f0e442", ms=4, label="tip with its 95 % region")
    ax.plot([30, 130], [990, 990], color="white", lw=1, label="scale bar")
    ax.text(80, 975, "20 mm", color="white", fontsize=7, ha="center")
    ax.text(30, 40, "a", color="white", fontsize=9)
    fig.text(0.02, 0.98, "Benchmark", fontsize=9)
    fig.text(0.02, 0.16, "depth 42 % ± 3, in the band 30–50 %, and inside with 95 % confidence", fontsize=8)
    fig.text(0.02, 0.13, "height 50 % ± 4, in the band 40–60 %, and inside with 95 % confidence", fontsize=8)
    fig.text(0.02, 0.02, "Read from saved stills after the fact. Not a medical device.", fontsize=7)
    fig.legend(loc="lower left", bbox_to_anchor=(0.02, 0.04), ncol=3, fontsize=7)
    out = io.BytesIO()
    fig.savefig(out, format=ending, dpi=DPI)
    plt.close(fig)
    return len(out.getvalue())


if __name__ == "__main__":
    for ending in ("png", "pdf", "svg"):
        figure(ending)
        times = []
        for _ in range(10):
            start = time.perf_counter()
            figure(ending)
            times.append(time.perf_counter() - start)
        print(f"figure to {ending.upper()}, matplotlib {matplotlib.__version__}: median {1e3 * statistics.median(times):.0f} ms")
