#!/usr/bin/env python3
"""The command line for Windows, under wine, held against the one of this system.

    .ci/wine.py CLI WINE EXE FOLDER [DICOM_FOLDER…]

Both work in a copy of the samples of their own below FOLDER and are asked the same. Exit status, what is said, and every
file that comes of it must be the same: byte by byte but for numbers in text and tables, which may differ by 1e-12 (they
are worked out by another mathematics library). Every file below each DICOM_FOLDER is read by both too.
"""

import os
import pathlib
import re
import shutil
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[1]
CASE = "sample-images/demonstration.case.json"
STILL = "sample-images/images/l4-right-lateral-final.png"
LATERAL, AP, STYLET = "l4-right-lateral-final", "l4-right-ap-final", "l4-right-lateral-stylet"
ASKED = [
    ["read", CASE],
    ["read", "--json", CASE],
    ["read", "--csv", CASE, "--out", "readings.csv"],
    ["figure", CASE, LATERAL, "--out", "one.svg"],
    ["figure", CASE, LATERAL, "--out", "one.png"],
    ["figure", CASE, LATERAL, AP, "--out", "pair.svg"],
    ["figure", CASE, LATERAL, AP, "--out", "pair.pdf"],
    ["figure", CASE, "--questions", "--width", "slide", "--out", "questions.pdf"],
    ["report", CASE, "--out", "report.pdf"],
    ["report", CASE, "--paper", "letter", "--out", "letter.pdf"],
    ["export", CASE, "--out", "shared"],
    ["export", CASE, "--out", "shared"],
    ["phantom", "--seed", "7", "--size", "384", "--out", "simulated"],
    ["phantom", "--seed", "7", "--size", "384", "--score", "simulated/simulated-7.case.json"],
    ["frame", STILL],
    ["frame", STILL, "--out", "frame.png"],
    ["compare", CASE, STYLET, LATERAL, "--picture", "compared.png", "--as", "blend"],
    ["run", CASE, "L4-right", "--picture", "path.pdf"],
    ["series", "sample-images", "--csv"],
    ["series", "sample-images", "--fresh", "--out", "series.pdf"],
    ["repeat", "readings-of-two.csv"],
    ["read", "not-there.case.json"],
    ["figure", CASE, LATERAL, "--out", "readings.csv.svg"],
]
NUMBER = re.compile(r"[-+]?(?:\d+\.\d+|\d+)(?:[eE][-+]?\d+)?")
ALLOWED = 1e-12
TEXTS = (".json", ".csv", ".txt")


class Difference(Exception):
    pass


class Tally:
    def __init__(self):
        self.faults, self.cells, self.differing, self.largest = [], 0, 0, 0.0

    def same_text(self, here, there):
        """Equal but for numbers, and how far those are apart."""
        if NUMBER.sub("#", here) != NUMBER.sub("#", there):
            one, other = next(
                (a, b)
                for a, b in zip(here.splitlines() + [""], there.splitlines() + [""])
                if NUMBER.sub("#", a) != NUMBER.sub("#", b)
            )
            raise Difference(f"{one!r} against {other!r}")
        for a, b in zip(NUMBER.findall(here), NUMBER.findall(there)):
            self.cells += 1
            if a == b:
                continue
            self.differing += 1
            off = abs(float(a) - float(b)) / max(1.0, abs(float(a)))
            self.largest = max(self.largest, off)
            if off > ALLOWED:
                raise Difference(f"{a} against {b}")

    def fault(self, what, why):
        self.faults.append(what)
        print(f"DIFFERENT {what}: {why}")


class Both:
    def __init__(self, cli, wine, exe, folder, tally):
        self.programs = {"linux": [cli], "windows": [wine, exe]}
        self.folder, self.tally = folder, tally
        for name in self.programs:
            place = folder / name
            shutil.copytree(ROOT / "sample-images", place / "sample-images")
            shutil.copy(ROOT / "tests/it/samples/readings.csv", place / "readings-of-two.csv")
            (folder / f"{name}-kept").mkdir()

    def run(self, arguments):
        said = {}
        for name, program in self.programs.items():
            kept = str(self.folder / f"{name}-kept")
            kept = "Z:" + kept.replace("/", "\\") if name == "windows" else kept
            environment = {**os.environ, "STILLMARK_DATA_DIR": kept}
            done = subprocess.run(
                program + arguments, cwd=self.folder / name, env=environment, capture_output=True, timeout=600
            )
            out, err = (text.decode("utf-8", "replace") for text in (done.stdout, done.stderr))
            said[name] = (done.returncode, plain(out), plain(err))
        return said

    def same(self, arguments):
        what = " ".join(arguments)
        said = self.run(arguments)
        here, there = said["linux"], said["windows"]
        try:
            if here[0] != there[0]:
                raise Difference(f"ends with {here[0]} against {there[0]}: {here[2]}{there[2]}")
            self.tally.same_text(here[1], there[1])
            self.tally.same_text(here[2], there[2])
        except Difference as why:
            self.tally.fault(what, why)
        return here[0], here[1]

    def same_files(self):
        files = {}
        for name in self.programs:
            place = self.folder / name
            files[name] = {f.relative_to(place).as_posix(): f for f in place.rglob("*") if f.is_file()}
        for name in sorted(set(files["linux"]) ^ set(files["windows"])):
            self.tally.fault(name, "only one of the two wrote it")
        equal = numbers = 0
        for name in sorted(set(files["linux"]) & set(files["windows"])):
            here, there = (files[system][name].read_bytes() for system in ("linux", "windows"))
            if here == there:
                equal += 1
            elif name.endswith(TEXTS):
                try:
                    self.tally.same_text(here.decode(), there.decode())
                    numbers += 1
                except Difference as why:
                    self.tally.fault(name, why)
            else:
                self.tally.fault(name, f"{len(here)} bytes against {len(there)}, not the same")
        return equal, numbers


def plain(text):
    """One way to part folders, and nothing that wine says of itself."""
    text = "".join(line for line in text.splitlines(keepends=True) if not line.startswith("wine client error:"))
    return text.replace("\\\\", "/").replace("\\", "/").replace("stillmark-cli.exe", "stillmark-cli")


def main():
    cli, wine, exe, folder, *dicom = sys.argv[1:]
    folder = pathlib.Path(folder).resolve()
    tally = Tally()
    both = Both(str(pathlib.Path(cli).resolve()), wine, str(pathlib.Path(exe).resolve()), folder, tally)
    # Only a package tells its commit.
    versions = {system: said[1].strip() for system, said in both.run(["--version"]).items()}
    print(", ".join(f"{system}: {version}" for system, version in versions.items()))
    if len({version.split(" (")[0] for version in versions.values()}) != 1:
        tally.fault("--version", "another version")
    for arguments in ASKED:
        status, _ = both.same(arguments)
        print(f"{status}  stillmark-cli {' '.join(arguments)}")
    equal, numbers = both.same_files()
    print(f"{equal} files are the same byte by byte, {numbers} but for numbers")
    print(f"{tally.differing} of {tally.cells} numbers differ, by {tally.largest:.1e} at most (allowed {ALLOWED:.0e})")

    read = refused = 0
    before = len(tally.faults)
    for place in dicom:
        for file in sorted(path for path in pathlib.Path(place).rglob("*") if path.is_file()):
            if file.suffix.lower() not in (".dcm", "") and file.name != "DICOMDIR":
                continue
            copy = "sample.dcm"
            for system in both.programs:
                shutil.copy(file, folder / system / copy)
                (folder / system / "samples.png").unlink(missing_ok=True)
            status, _ = both.same(["frame", copy])
            refused, read = refused + (status != 0), read + (status == 0)
            if status == 0:
                both.same(["frame", copy, "--out", "samples.png", "--force"])
                pictures = [(folder / system / "samples.png") for system in both.programs]
                if not all(p.exists() for p in pictures) or pictures[0].read_bytes() != pictures[1].read_bytes():
                    tally.fault(file.name, "other samples")
    if dicom:
        wrong = len(tally.faults) - before
        print(f"{read} DICOM files are read and {refused} are refused by both alike, {wrong} differences")
    print(f"{len(tally.faults)} differences")
    sys.exit(1 if tally.faults else 0)


if __name__ == "__main__":
    main()
