"""`series` on 10,000 synthetic case files of 8 shots: time and peak memory on the first run, and from what is remembered
after one file changed, beside a NumPy/pandas script that reads the same files.

The script does less: it takes every body for its four corners, reads the final pair only, carries no uncertainty, and
judges by the value alone. Its statistics are the same: shares with Wilson's intervals by level, side, operator and
half-year, Newcombe's differences, errors with t intervals by half-year, and both kinds of cumulative sums. Each is run
three times in turn, the fastest counts; two in a thousand of the files are broken or no case.
Usage: python3 series.py PATH-OF-stillmark-cli [number of cases]; needs numpy, pandas, scipy and statsmodels.
"""

import json
import os
import pathlib
import random
import resource
import subprocess
import sys
import tempfile
import time

STAGES = ["pedicle", "posterior_wall", "stylet", "final"]


def lateral(draw, depth, height):
    x, y, w, h = 200 + 200 * draw(), 200 + 200 * draw(), 130 + 20 * draw(), 85 + 15 * draw()
    return {"superior_end_plate": [[x, y], [x + w / 2, y + 3], [x + w, y + 4 * draw()]],
            "inferior_end_plate": [[x + 2, y + h], [x + w / 2, y + h - 4], [x + w + 3, y + h + 2]],
            "posterior_wall": [[x + 3, y + h / 2]], "anterior_wall": [[x + w - 3, y + h / 2]],
            "tip": [[x + depth * w, y + height * h]],
            "cannula": [[x - 150, y - 20], [x + 0.05 * w, y + 0.35 * h]]}


def ap(draw, across, height):
    x, y, w, h = 200 + 200 * draw(), 200 + 200 * draw(), 150 + 20 * draw(), 85 + 15 * draw()
    return {"superior_end_plate": [[x, y], [x + w / 2, y + 2], [x + w, y]],
            "inferior_end_plate": [[x, y + h], [x + w / 2, y + h - 3], [x + w, y + h]],
            "right_pedicle": [[x + 0.08 * w, y + 25], [x + 0.25 * w, y + 25]],
            "left_pedicle": [[x + 0.92 * w, y + 25], [x + 0.75 * w, y + 25]],
            "spinous_process": [[x + 0.46 * w, y + 60], [x + 0.54 * w, y + 60]],
            "tip": [[x + across * w, y + height * h]]}


def write_cases(root, n):
    generator = random.Random(11)
    draw = generator.random
    for i in range(n):
        shots = []
        side = generator.choice(["left", "right"])
        level = generator.choice(["L3", "L4", "L5"])
        for j, stage in enumerate(STAGES):
            depth = [-0.25, 0.05, 0.3, generator.gauss(0.4, 0.07)][j]
            height = generator.gauss(0.5, 0.05)
            across = [0.2, 0.3, 0.4, generator.gauss(0.5, 0.05)][j]
            for view, marks in (("lateral", lateral(draw, depth, height)), ("ap", ap(draw, across, height))):
                shots.append({"id": f"{view}-{stage}", "image": f"images/{view}-{j}.png", "level": level, "side": side,
                              "view": view, "stage": stage, "mm_per_px": 0.25 + 0.1 * draw(), "marks": marks})
        case = {"format": "stillmark case", "version": 1, "title": f"Synthetic {i}",
                "operator": generator.choice(["R1", "R2", "R3"]),
                "date": f"{generator.choice([2024, 2025, 2026])}-{generator.randint(1, 12):02}-11", "shots": shots}
        folder = root / f"{i % 100:02}"
        folder.mkdir(exist_ok=True)
        text = json.dumps(case, indent=1)
        # One in a thousand is broken or no case at all.
        (folder / f"{i}.case.json").write_text(text[:500] if i % 1000 == 7 else "{}" if i % 1000 == 8 else text)


def by_pandas(root):
    import numpy as np
    import pandas as pd
    from scipy import stats
    from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

    rows = []
    for path in sorted(root.rglob("*.case.json")):
        try:
            case = json.loads(path.read_text())
            final = {s["view"]: s for s in case["shots"] if s["stage"] == "final"}
            side, front = final["lateral"]["marks"], final["ap"]["marks"]
            rows.append([case["operator"], case["date"], final["lateral"]["level"], final["lateral"]["side"],
                         *np.ravel([side["superior_end_plate"][0], side["superior_end_plate"][-1],
                                    side["inferior_end_plate"][-1], side["inferior_end_plate"][0], side["tip"][0],
                                    front["superior_end_plate"][0], front["superior_end_plate"][-1],
                                    front["inferior_end_plate"][-1], front["inferior_end_plate"][0], front["tip"][0]])])
        except (ValueError, KeyError):
            continue
    table = pd.DataFrame(rows, columns=["operator", "date", "level", "side", *range(20)])
    numbers = table[list(range(20))].to_numpy(float)

    def read(q):
        a, b, c, d, p = (q[:, 2 * i:2 * i + 2] for i in range(5))
        u = v = np.full(len(q), 0.5)
        for _ in range(12):
            e = ((1 - u) * (1 - v))[:, None] * a + (u * (1 - v))[:, None] * b + (u * v)[:, None] * c \
                + ((1 - u) * v)[:, None] * d - p
            du = (1 - v)[:, None] * (b - a) + v[:, None] * (c - d)
            dv = (1 - u)[:, None] * (d - a) + u[:, None] * (c - b)
            det = du[:, 0] * dv[:, 1] - du[:, 1] * dv[:, 0]
            u = u - (e[:, 0] * dv[:, 1] - e[:, 1] * dv[:, 0]) / det
            v = v - (du[:, 0] * e[:, 1] - du[:, 1] * e[:, 0]) / det
        return u, v

    table["depth"], table["height"] = read(numbers[:, :10])
    table["across"], _ = read(numbers[:, 10:])
    table["inside"] = table.depth.between(0.3, 0.5) & table.height.between(0.4, 0.6) & table.across.between(0.4, 0.6)
    table["half"] = table.date.str[:4] + np.where(table.date.str[5:7].astype(int) <= 6, " H1", " H2")
    out, differences = [], []
    for by in ("level", "side", "operator", "half"):
        for name, group in table.groupby(by):
            hits, n = group.inside.sum(), len(group)
            out.append((by, name, n, *proportion_confint(hits, n, method="wilson")))
            rest, others = table.inside.sum() - hits, len(table) - n
            differences.append(confint_proportions_2indep(hits, n, rest, others, method="newcomb"))
    errors = table.groupby("half")[["depth", "height", "across"]].agg(["mean", "std", "count"])
    half = [stats.t.ppf(0.975, n - 1) * s / np.sqrt(n) for _, s, n in errors.depth.itertuples(index=False)]
    misses = np.where(table.sort_values("date").inside, 0, 1)
    sums = np.cumsum(misses - 0.1452443543)
    weights = np.where(misses, np.log(2.0), np.log(0.8 / 0.9))
    charts = []
    for sign in (1.0, -1.0):
        chart = [0.0]
        for weight in weights:
            chart.append(max(0.0, chart[-1] + sign * weight))
        charts.append(chart)
    return len(table), out, differences, errors, half, sums, charts


def timed(command, home):
    before = time.perf_counter()
    process = subprocess.Popen(command, env={**os.environ, "STILLMARK_DATA_DIR": str(home)}, stdout=subprocess.PIPE)
    out = process.stdout.read()
    _, _, usage = os.wait4(process.pid, 0)
    return time.perf_counter() - before, usage.ru_maxrss / 1024, out


def main():
    program, n = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 10_000
    with tempfile.TemporaryDirectory() as folder:
        root, home = pathlib.Path(folder) / "cases", pathlib.Path(folder) / "home"
        root.mkdir()
        home.mkdir()
        write_cases(root, n)
        command = [program, "series", str(root), "--json"]
        script = [sys.executable, __file__, "--script", str(root)]
        runs = {"first run": [], "one file changed": [], "NumPy/pandas": []}
        for i in range(3):
            (home / "series.json").unlink(missing_ok=True)
            runs["first run"].append(timed(command, home))
            changed = next(root.rglob(f"*{i}3.case.json"))
            changed.write_text(changed.read_text() + " ")
            runs["one file changed"].append(timed(command, home))
            runs["NumPy/pandas"].append(timed(script, home))
            found = json.loads(runs["first run"][-1][2])
            assert json.loads(runs["one file changed"][-1][2]) == found, "what is remembered gives another result"
        read = runs["NumPy/pandas"][0][2].decode().strip()
        print(f"bodies {len(found['bodies'])}, passed over {len(found['skipped'])}; the script read {read}")
        fastest = {name: min(run[0] for run in all_runs) for name, all_runs in runs.items()}
        for name, all_runs in runs.items():
            ratio = fastest[name] / fastest["NumPy/pandas"]
            peak = max(run[1] for run in all_runs)
            print(f"{name:>18}: {fastest[name]:7.2f} s, {peak:6.0f} MB, {ratio:.3f} of the script")


if __name__ == "__main__" and sys.argv[1:2] == ["--script"]:
    print(by_pandas(pathlib.Path(sys.argv[2]))[0])
    print(f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB", file=sys.stderr)
elif __name__ == "__main__":
    main()
