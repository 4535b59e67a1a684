"""Time and memory against size: images of 0.25 to 64 megapixels, cases of 10 to 1,000 shots, folders of 100 to 100,000 cases;
written to docs/scaling.md with a plot beside it.

    cargo build --release --locked --bin stillmark-cli
    python3 tests/bench/scaling.py target/release/stillmark-cli [--most-cases 100000]

Each is done by the command line in a process of its own, three times, and the fastest counts; its peak memory is what the
system tells of the ended process. The exponent is the slope of the line through the three largest sizes, both axes as
logarithms: 1 is a straight line, less is better. Needs numpy, Pillow and matplotlib, and 2 GB of disk for 100,000 cases.
"""

import argparse
import datetime
import json
import os
import pathlib
import platform
import random
import subprocess
import sys
import tempfile

import matplotlib

matplotlib.use("svg")
import matplotlib.pyplot as plt
import numpy as np
from PIL import Image

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.argv, arguments = sys.argv[:1], sys.argv[1:]
RUNS = 3


def cases_of():
    """The writer of synthetic cases, of series.py, which is a program of its own."""
    source = (ROOT / "tests" / "bench" / "series.py").read_text().split("\nif sys.argv[1:2]")[0]
    names = {"__name__": "series"}
    exec(compile(source, "series.py", "exec"), names)
    return names


def timed(command, home, allowed=(0,)):
    alone = [sys.executable, "-S", "-E", str(ROOT / "tests" / "bench" / "alone.py"), *command]
    run = subprocess.run(alone, env={**os.environ, "STILLMARK_DATA_DIR": str(home)}, stdout=subprocess.PIPE, check=True)
    found = json.loads(run.stdout)
    if found["status"] not in allowed:
        raise RuntimeError(f"{command} ended with {found['status']}")
    return found["seconds"], found["mb"]


def fastest(command, home, allowed=(0,)):
    runs = [timed(command, home, allowed) for _ in range(RUNS)]
    return min(seconds for seconds, _ in runs), max(memory for _, memory in runs)


def images(program, folder):
    """Opening a 16-bit PNG and saying what it is."""
    for megapixels in (0.25, 1, 4, 16, 64):
        side = round((megapixels * 2**20) ** 0.5)
        y, x = np.mgrid[0:side, 0:side].astype(np.float32) / side
        noise = np.random.default_rng(1).normal(0, 0.01, (side, side)).astype(np.float32)
        picture = 0.5 + 0.3 * np.sin(9 * x) * np.cos(7 * y) + noise
        path = folder / "frame.png"
        Image.fromarray(np.clip(picture * 4095, 0, 4095).astype(np.uint16)).save(path, compress_level=1)
        yield megapixels, *fastest([program, "frame", str(path)], folder)


def shots(program, folder):
    """Reading a case: every shot's reading, pairs and plan, as JSON."""
    made = cases_of()
    draw = random.Random(5).random
    for count in (10, 30, 100, 300, 1000):
        all_shots = []
        for i in range(count):
            view, marks = [("lateral", made["lateral"](draw, 0.4, 0.5)), ("ap", made["ap"](draw, 0.5, 0.5))][i % 2]
            all_shots.append({"id": f"s{i}", "image": f"images/{i}.png", "level": f"L{1 + i // 2 % 5}", "side": "right",
                              "view": view, "stage": "final", "mm_per_px": 0.3, "marks": marks})
        path = folder / "shots.case.json"
        path.write_text(json.dumps({"format": "stillmark case", "version": 1, "title": "Many", "shots": all_shots}))
        # The images are not there, which leaves the readings and ends with 1.
        yield count, *fastest([program, "read", "--json", str(path)], folder, (0, 1))


def cases(program, folder, most):
    """An audit over a folder, every file read anew."""
    made = cases_of()
    for count in (100, 1000, 10_000, 100_000):
        if count > most:
            break
        root = folder / f"cases-{count}"
        root.mkdir()
        made["write_cases"](root, count)
        yield count, *fastest([program, "series", str(root), "--json", "--fresh"], folder, (0, 1))


def exponent(rows, column):
    some = [row for row in rows if row[column] > 0][-3:]
    size, found = (np.log([row[i] for row in some]) for i in (0, column))
    return float(np.polyfit(size, found, 1)[0])


def words(seconds):
    return f"{seconds:.2f} s" if seconds >= 1 else f"{1e3 * seconds:.0f} ms"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("program")
    parser.add_argument("--most-cases", type=int, default=100_000)
    parser.add_argument("--out", default=str(ROOT / "docs"))
    args = parser.parse_args(arguments)
    program, out = str(pathlib.Path(args.program).resolve()), pathlib.Path(args.out)
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        found = [
            ("Opening an image", "megapixels", list(images(program, folder))),
            ("Reading a case", "shots", list(shots(program, folder))),
            ("Auditing a folder", "cases", list(cases(program, folder, args.most_cases))),
        ]
    commit = subprocess.run(["git", "rev-parse", "--short", "HEAD"], cwd=ROOT, capture_output=True, text=True).stdout.strip()
    text = ("# Time and memory against size\n\nWritten by `tests/bench/scaling.py`; not to be edited by hand.\n\n"
            f"Measured on {datetime.date.today():%Y-%m-%d} at commit {commit}, {os.cpu_count()} processors, {platform.system()}. "
            f"Each by the command line in a process of its own, the fastest of {RUNS}; memory is the process's peak, some ten "
            "megabytes of which are the program itself. The exponent is the slope through the three largest sizes, both axes as "
            "logarithms: 1 is a straight line.\n\n![Time and memory against size](scaling.svg)\n")
    figure, axes = plt.subplots(2, 3, figsize=(10, 5.4), layout="constrained")
    for column, (title, unit, rows) in enumerate(found):
        slopes = [exponent(rows, 1), exponent(rows, 2)]
        text += f"\n## {title}\n\n| {unit} | time | peak memory |\n| ---: | ---: | ---: |\n"
        text += "".join(f"| {size:,} | {words(seconds)} | {memory:.0f} MB |\n" for size, seconds, memory in rows)
        text += f"\nExponent of time {slopes[0]:.2f}, of memory {slopes[1]:.2f}.\n"
        for row, (label, at) in enumerate((("seconds", 1), ("megabytes", 2))):
            axis = axes[row][column]
            axis.loglog([r[0] for r in rows], [r[at] for r in rows], "o-", color="#1f5f8b")
            size, value = rows[-1][0], rows[-1][at]
            # A straight line through the largest, to see by eye.
            axis.loglog([r[0] for r in rows], [value * r[0] / size for r in rows], ":", color="#777777")
            axis.set_title(f"{title} ({slopes[row]:.2f})" if row == 0 else f"({slopes[row]:.2f})", fontsize=10)
            axis.set_xlabel(unit)
            axis.set_ylabel(label)
            axis.grid(True, which="major", linewidth=0.4)
    plt.rcParams["svg.hashsalt"] = "scaling"
    figure.savefig(out / "scaling.svg", metadata={"Date": None, "Creator": None})
    (out / "scaling.md").write_text(text)


if __name__ == "__main__":
    main()
