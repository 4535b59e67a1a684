"""The JSON Schemas of docs/schemas against what the command line reads and writes, by PyPI's jsonschema.

    python schemas.py STILLMARK_CLI REPOSITORY WORK_FOLDER

Every sample and every output must fit its schema; each of fifty broken case files must be refused by the schema at the
place that was broken, and by the program with exit status 2.
"""
import copy
import json
import pathlib
import subprocess
import sys

import jsonschema

cli, root, work = sys.argv[1], pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
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
print(f"{fit} samples and outputs fit, {refused} broken case files refused at their places, {len(wrong)} wrong")
for line in wrong[:20]:
    print(line)
sys.exit(1 if wrong else 0)
