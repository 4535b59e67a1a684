"""The JSON Schemas of docs/schemas against what the command line reads and writes, by PyPI's jsonschema.

    python schemas.py STILLMARK_CLI REPOSITORY WORK_FOLDER

Every sample and every output must fit its schema; each of fifty broken case files must be refused by the schema at the
place that was broken, and by the program with exit status 2.
"""
import contextlib
import copy
import csv
import io
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys

import jsonschema
from pycocotools.coco import COCO

cli, root, work = str(pathlib.Path(sys.argv[1]).resolve()), pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
demonstration = root / "sample-images/demonstration.case.json"
wrong, fit, refused = [], 0, 0


def schema(name):
    content = json.loads((root / f"docs/schemas/{name}.schema.json").read_text())
    jsonschema.Draft202012Validator.check_schema(content)
    return jsonschema.Draft202012Validator(content)


def output(*arguments):
    done = subprocess.run([cli, *map(str, arguments)], capture_output=True, encoding="utf-8")
    return json.loads(done.stdout)


def fits(name, value, what):
    global fit
    errors = [f"{list(e.absolute_path)}: {e.message[:160]}" for e in schema(name).iter_errors(value)]
    if errors:
        wrong.append(f"{what} does not fit {name}: {errors[:2]}")
    fit += 1


cases = [demonstration, root / "tests/it/samples/version-1.case.json"]
for seed in range(1, 4):
    out = work / f"phantom-{seed}"
    subprocess.run([cli, "phantom", "--seed", str(seed), "--size", "256", "--out", out], check=True, capture_output=True)
    cases += out.glob("*.case.json")
for case in cases:
    fits("case", json.loads(case.read_text()), case.name)
    fits("read", output("read", "--json", case), f"read {case.name}")
fits("read", output("read", "--json", "--monte-carlo", 100, demonstration), "read with draws")
final, stylet = "l4-right-lateral-final", "l4-right-lateral-stylet"
fits("propose", output("propose", demonstration, final, "--from", stylet, "--json"), "a proposal")
nowhere = output("propose", demonstration, final, "--posterior", "10,10", "--anterior", "60,10", "--json")
fits("propose", nowhere, "a refusal")
if nowhere["refused"] is None:
    wrong.append("clicks on nothing were not refused")
for view in ("lateral", "ap"):
    fits("compare", output("compare", demonstration, f"l4-right-{view}-stylet", f"l4-right-{view}-final", "--json"), view)
for image in sorted((root / "sample-images/images").iterdir())[:3]:
    fits("frame", output("frame", image), image.name)

final_table = work / "readings.csv"
final_table.write_text("subject,rater,round,value\n" + "".join(
    f"s{i},{rater},{round_},{0.3 + 0.05 * i + 0.01 * j + 0.007 * ((i * j + round_) % 3)}\n"
    for i in range(6) for j, rater in enumerate("AB") for round_ in (1, 2)))
fits("repeat", output("repeat", final_table, "--json"), "a table of readings")
# A case whose laterals were read again blind twice by R1 and once by R2, each mark off by up to a pixel.
again = json.loads(demonstration.read_text())
again["rereadings"] = []
for number, (reader, round_) in enumerate([("R1", 1), ("R1", 2), ("R2", 1)], start=1):
    readings = []
    for place, shot in enumerate(one for one in again["shots"] if one["view"] == "lateral" and one.get("marks")):
        off = lambda at: [at[0] + ((place + number) % 3 - 1) * 0.9, at[1] + ((2 * place + number) % 3 - 1) * 0.7]
        marks = {key: [off(at) for at in points] if points and isinstance(points[0], list) else points
                 for key, points in shot["marks"].items()}
        readings.append({"shot": shot["id"], "state": "done", "marks": marks})
    again["rereadings"].append({"operator": reader, "round": round_, "seed": number, "readings": readings})
for shot in again["shots"]:
    shot["image"] = str((root / "sample-images" / shot["image"]).resolve())
reread = work / "again.case.json"
reread.write_text(json.dumps(again))
fits("case", again, "a case with blinded re-readings")
fits("rereading", output("repeat", reread, "--json"), "blinded re-readings")
fits("series", output("series", root / "sample-images", "--json"), "the series of the samples")
fits("series", output("series", work / "phantom-1", work / "phantom-2", "--json"), "a series of simulated cases")
pedicle = "l4-right-lateral-pedicle"
fits("curve", output("curve", demonstration, pedicle, "--radius-mm", 20, "--bend-deg", 60, "--json"), "a curve")
through = ("--through", "410,300", "395,312", "384,330")
fits("curve", output("curve", demonstration, pedicle, "--bend-deg", 60, "--json", *through), "a curve along points")
simulated = sorted((work / "phantom-1").glob("*.case.json"))[0]
score = output("phantom", "--seed", 1, "--size", 256, "--score", simulated, "--json")
fits("score", score, "marks against the truth")
mapping = {"format": "stillmark keypoint mapping", "version": 1, "points": {"A": "tip.1", "B": None}, "offset_px": 0.5}
fits("mapping", mapping, "a mapping file")

# Keypoints: the schema, the reader of COCO files from PyPI, and the table say the same.
points = work / "points.json"
subprocess.run([cli, "keypoints", *map(str, cases[:1]), "--out", points], check=True, capture_output=True)
keypoints = json.loads(points.read_text())
fits("keypoints", keypoints, "the marks of the demonstration")
table = work / "points.csv"
subprocess.run([cli, "keypoints", *map(str, cases[:1]), "--out", table], check=True, capture_output=True)
by_table = {(row["shot"], row["point"]): (float(row["x"]), float(row["y"])) for row in csv.DictReader(table.open())}
with contextlib.redirect_stdout(io.StringIO()):
    coco = COCO(str(points))
by_coco = {}
for annotation in coco.loadAnns(coco.getAnnIds()):
    names = coco.loadCats(annotation["category_id"])[0]["keypoints"]
    image = coco.loadImgs(annotation["image_id"])[0]
    for name, (x, y, seen) in zip(names, zip(*[iter(annotation["keypoints"])] * 3)):
        if seen:
            by_coco[annotation["shot"], name] = (x, y)
            if not (0 <= x <= image["width"] and 0 <= y <= image["height"]):
                wrong.append(f"{name} lies outside its image")
if by_coco != by_table or not by_table:
    wrong.append(f"keypoints differ: {len(by_coco)} by pycocotools, {len(by_table)} in the table")

# Broken outputs: schema, where, what stands there instead.
BROKEN_OUTPUTS = [
    ("read", output("read", "--json", demonstration), [((0, "format"), "x"), ((0, "version"), 2), ((0, "pairs"), {})]),
    ("compare", output("compare", demonstration, stylet, final, "--json"), [(("format",), 1), (("view",), "side")]),
    ("frame", output("frame", next((root / "sample-images/images").iterdir())),
     [(("rows",), 0), (("bits",), 12), (("scale", "offer"), "maybe"), (("spacing", "pixel_mm"), [0, 0.1])]),
    ("repeat", output("repeat", final_table, "--json"), [(("subjects",), -1), (("comparisons", 0, "n"), "8"), (("means_of_rounds", 0, "first"), 3)]),
    ("rereading", output("repeat", reread, "--json"),
     [(("readings",), -1), (("format",), "x"), (("marks", 0, "mark"), 7), (("placement_sd_mm",), "large")]),
    ("series", output("series", root / "sample-images", "--json"),
     [(("bodies", 0, "level"), "L9"), (("bodies", 0, "verdicts", 0, "p_inside"), 1.5), (("shares", 0, "n"), None), (("cusum", "alpha"), 2)]),
    ("curve", output("curve", demonstration, pedicle, "--radius-mm", 20, "--bend-deg", 60, "--json"),
     [(("course", 0), [1]), (("radius_mm",), 0), (("end",), {"depth": 0.1})]),
    ("score", score, [((0, "view"), "side"), ((0, "places", 0, "distance_mm"), -1)]),
    ("mapping", mapping, [(("points", "A"), 7), (("format",), "another"), (("scale",), 0)]),
    ("keypoints", keypoints,
     [(("categories", 0, "keypoints", 0), "Tip"), (("annotations", 0, "origin", 0), "machine"), (("images", 0, "width"), 0),
      (("annotations", 0, "bbox"), [1, 2, 3])]),
]
outputs_refused = 0
for name, value, breaks in BROKEN_OUTPUTS:
    for path, instead in breaks:
        broken = copy.deepcopy(value)
        at = broken
        for step in path[:-1]:
            at = at[step]
        at[path[-1]] = instead
        errors = list(schema(name).iter_errors(broken))
        if not errors or any(list(e.absolute_path)[:len(path)] != list(path) for e in errors):
            wrong.append(f"{name} {path} = {instead!r}: {[(list(e.absolute_path), e.message[:80]) for e in errors]}")
        outputs_refused += 1

# The readers of docs/data.md, as they stand there.
text = (root / "docs/data.md").read_text()
block = re.search(r"```python\n(.*?)```", text, re.S).group(1).replace("import pandas as pd\n", "")
block = block.replace('pd.read_csv("bodies.csv")', 'list(csv.DictReader(open("bodies.csv")))')
here = work / "readers"
here.mkdir()
(here / "sample-images").symlink_to((root / "sample-images").resolve())
subprocess.run([cli, "series", "sample-images", "--csv", "--out", "bodies.csv"], cwd=here, check=True, capture_output=True)
(here / "read.py").write_text("import csv\n" + block + "\nassert tips and depth and bodies, (tips, depth, bodies)\n")
path = {**os.environ, "PATH": f"{pathlib.Path(cli).resolve().parent}:{os.environ['PATH']}"}
done = subprocess.run([sys.executable, "read.py"], cwd=here, env=path, capture_output=True, text=True)
if done.returncode:
    wrong.append(f"the Python lines of docs/data.md: {done.stderr[-300:]}")
with_r = "not run, R or jsonlite is not here"
if shutil.which("Rscript") and not subprocess.run(["Rscript", "-e", "library(jsonlite)"], capture_output=True).returncode:
    block = re.search(r"```r\n(.*?)```", text, re.S).group(1)
    (here / "read.R").write_text(block + "\nstopifnot(length(tips) > 0, nrow(bodies) > 0)\n")
    done = subprocess.run(["Rscript", "read.R"], cwd=here, env=path, capture_output=True, text=True)
    with_r = "run" if done.returncode == 0 else "failed"
    if done.returncode:
        wrong.append(f"the R lines of docs/data.md: {done.stderr[-300:]}")

# What is broken: where in the file, and what stands there instead; None takes the key out.
OUT = object()
SHOT = ("shots", 0)
LATERAL = next(i for i, shot in enumerate(json.loads(demonstration.read_text())["shots"]) if shot["view"] == "lateral")
MARKS = ("shots", LATERAL, "marks")
BROKEN = [
    (("format",), "another"), (("format",), OUT), (("version",), 0), (("version",), "1"), (("version",), OUT),
    (("title",), 5), (("operator",), ["R1"]), (("date",), 20260203), (("reference",), True), (("discs",), "L4-L5"),
    (("discs",), [4]), (("patient_right",), "left"), (("tube",), "left"), (("tube",), {"lateral": "front"}),
    (("tube",), {"ap": "left"}), (("settings",), []), (("settings", "placement_sd_mm"), 0.5),
    (("settings", "placement_sd_mm"), {"bone": -1}), (("settings", "placement_sd_mm"), {"metal": "small"}),
    (("settings", "view_half_width_deg"), 90), (("settings", "change_that_matters"), -0.1),
    (("settings", "targets"), {"final": {"depth": [0.3]}}), (("settings", "targets"), {"final": {"depth": 0.3}}),
    (("bodies",), [{"side": "left"}]), (("bodies",), [{"level": "L9", "side": "left"}]),
    (("bodies",), [{"level": "L4", "side": "middle"}]), (("bodies",), [{"level": "L4", "side": "left", "lesion_s": 0}]),
    (("shots",), {}), (("shots",), [5]), ((*SHOT, "id"), OUT), ((*SHOT, "id"), 7), ((*SHOT, "image"), OUT),
    ((*SHOT, "view"), OUT), ((*SHOT, "view"), "side"), ((*SHOT, "marks"), OUT), ((*SHOT, "marks"), []),
    ((*SHOT, "frame"), -1), ((*SHOT, "frame"), 0.5), ((*SHOT, "level"), "L6"), ((*SHOT, "side"), "both"),
    ((*SHOT, "stage"), "end"), ((*SHOT, "mm_per_px"), 0), ((*SHOT, "mm_per_px_sd"), -0.1),
    ((*SHOT, "scale_from"), "guess"), ((*SHOT, "known_length"), {"mm": 5}), ((*SHOT, "covers"), [[[1, 2]]]),
    ((*SHOT, "cannot_tell"), ["width"]), ((*SHOT, "draft"), "yes"), ((*MARKS, "tip"), [[1, 2], [3, 4]]),
    ((*MARKS, "tip"), [[1]]), ((*MARKS, "superior_end_plate"), [[1, "2"]]), ((*MARKS, "posterior_wall"), [[1e9, 2]]),
]
whole = json.loads(demonstration.read_text())
for number, (path, value) in enumerate(BROKEN):
    broken = copy.deepcopy(whole)
    at = broken
    for step in path[:-1]:
        at = at.setdefault(step, {}) if isinstance(at, dict) else at[step]
    if value is OUT:
        at.pop(path[-1])
    else:
        at[path[-1]] = value
    where = list(path if value is not OUT else path[:-1])
    errors = list(schema("case").iter_errors(broken))
    there = [e for e in errors if list(e.absolute_path)[:len(where)] == where]
    if not there or len(there) != len(errors):
        wrong.append(f"{path} = {value!r}: {[(list(e.absolute_path), e.message[:80]) for e in errors]}")
    file = work / f"broken-{number}.case.json"
    file.write_text(json.dumps(broken))
    status = subprocess.run([cli, "read", file], capture_output=True).returncode
    if status != 2:
        wrong.append(f"{path} = {value!r}: the program ends with {status}")
    refused += 1
print(f"{fit} samples and outputs fit, {refused} broken case files and {outputs_refused} broken outputs refused at their "
      f"places, {len(by_coco)} keypoints equal by pycocotools, R lines {with_r}, {len(wrong)} wrong")
for line in wrong[:20]:
    print(line)
sys.exit(1 if wrong else 0)
