"""Writes a case of two laterals of the demonstration's L4, of which only the first is marked, with their images beside it.

python3 tests/window/two_laterals.py FOLDER NAME.case.json
"""
import json
import pathlib
import shutil
import sys

WANTED = ("l4-right-lateral-stylet", "l4-right-lateral-final")

folder, name = pathlib.Path(sys.argv[1]), sys.argv[2]
samples = pathlib.Path(__file__).parent.parent.parent / "sample-images"
case = json.loads((samples / "demonstration.case.json").read_text())
case["shots"] = [next(shot for shot in case["shots"] if shot["id"] == wanted) for wanted in WANTED]
case["shots"][1]["marks"] = {}
(folder / "images").mkdir(exist_ok=True)
for shot in case["shots"]:
    shutil.copy(samples / shot["image"], folder / shot["image"])
(folder / name).write_text(json.dumps(case))
