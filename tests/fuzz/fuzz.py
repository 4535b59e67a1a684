#!/usr/bin/env python3
"""Fuzzes what reads a stranger's bytes, guided by coverage, on the stable compiler.

    tests/fuzz/fuzz.py [TARGET…] [--seconds 60] [--page docs/hostile-files.md]
    tests/fuzz/fuzz.py TARGET --input FILE      one input alone, as it was found

Targets: picture, case_file, readings_table, keypoints; all where none is named. Each input has 10 seconds and 2 GB. What is found
is written to target/fuzz as crash-…, oom-… or timeout-…, and makes the exit status 1. The corpus that comes with the project
is only read; what is new goes to target/fuzz. It is built with the program's own lock file: the decoders that are tried are
those that are given away. A fuzzing crate for C++ is part of it, so that a compiler for C++ is needed.
"""
import argparse
import collections
import os
import pathlib
import re
import shutil
import subprocess
import sys
import time

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
TARGETS = ["picture", "case_file", "readings_table", "keypoints"]
# LLVM's own pass counts edges and traces comparisons; both switches are stable.
FLAGS = ("--cfg fuzzing -Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 "
         "-Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table "
         "-Cllvm-args=-sanitizer-coverage-trace-compares")


def built(folder, targets):
    """The programs, by target."""
    shutil.copy(ROOT / "Cargo.lock", HERE / "Cargo.lock")
    said = subprocess.run(["rustc", "-vV"], capture_output=True, text=True, check=True).stdout
    host = re.search(r"^host: (.*)$", said, re.MULTILINE)[1]
    bins = [word for target in targets for word in ("--bin", target)]
    subprocess.run(["cargo", "build", "--release", "--target", host, *bins], cwd=HERE, check=True,
                   env={**os.environ, "CARGO_TARGET_DIR": str(folder), "RUSTFLAGS": FLAGS, "CARGO_INCREMENTAL": "0"})
    return {target: folder / host / "release" / target for target in targets}


def number(pattern, said, default=0):
    found = re.findall(pattern, said)
    return int(found[-1]) if found else default


def fuzzed(program, target, folder, seconds):
    """One row of the table, and what was found."""
    found = folder / "corpus" / target
    found.mkdir(parents=True, exist_ok=True)
    log = folder / f"{target}.log"
    command = [program, f"-max_total_time={seconds}", "-timeout=10", "-rss_limit_mb=2048", "-max_len=65536",
               "-print_final_stats=1", f"-artifact_prefix={folder}/{target}-", found]
    # What is found without a corpus is kept in the build's folder alone.
    command += [corpus for corpus in [HERE / "corpus" / target] if corpus.is_dir()]
    before = set(folder.glob(f"{target}-*-*"))
    with open(log, "wb") as err:
        status = subprocess.run([str(word) for word in command], stderr=err, stdout=subprocess.DEVNULL).returncode
    said = log.read_text("utf-8", "replace")
    kinds = collections.Counter(re.search(r"-(crash|oom|timeout|leak|slow-unit)-", file.name)[1]
                                for file in set(folder.glob(f"{target}-*-*")) - before)
    bad = sum(kinds.values()) + (status != 0 and not kinds)
    told = {name: number(pattern, said) for name, pattern in (
        ("inputs", r"stat::number_of_executed_units: +(\d+)"), ("edges", r"cov: (\d+)"), ("kept", r"corp: (\d+)/"),
        ("contained", r"CONTAINED (\d+)"), ("memory", r"stat::peak_rss_mb: +(\d+)"))}
    row = (f"| {target} | {seconds} | {told['inputs']:,} | {told['edges']:,} | {told['kept']:,} | {kinds['crash']} | "
           f"{kinds['timeout'] + kinds['slow-unit']} | {kinds['oom']} | {told['contained']} | {told['memory']} |")
    return row, bad, "\n".join(said.splitlines()[-25:])


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("targets", nargs="*", metavar="TARGET")
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--page", type=pathlib.Path)
    parser.add_argument("--input", type=pathlib.Path)
    args = parser.parse_args()
    unknown = set(args.targets) - set(TARGETS)
    if unknown:
        parser.error(f"there is no target {', '.join(unknown)}; there are {', '.join(TARGETS)}")
    targets = args.targets or TARGETS
    folder = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")).resolve() / "fuzz"
    programs = built(folder, targets)
    if args.input:
        sys.exit(subprocess.run([str(programs[targets[0]]), str(args.input)]).returncode)
    lines = ["| target | seconds | inputs | edges reached | inputs kept | crashed | over 10 s | over 2 GB | decoders' panics "
             "contained, at least | largest memory, MB |",
             "| --- | --: | --: | --: | --: | --: | --: | --: | --: | --: |"]
    worst = 0
    for target in targets:
        row, bad, said = fuzzed(programs[target], target, folder, args.seconds)
        print(row, flush=True)
        if bad:
            print(said)
        lines.append(row)
        worst += bad
    lines += ["", f"Written on {time.strftime('%Y-%m-%d')}, {os.cpu_count()} cores, load {os.getloadavg()[1]:.0f}."]
    if args.page:
        text = args.page.read_text()
        before, rest = text.split("<!-- fuzzing -->\n", 1)
        _, after = rest.split("<!-- end -->", 1)
        args.page.write_text(before + "<!-- fuzzing -->\n" + "\n".join(lines) + "\n<!-- end -->" + after)
    sys.exit(1 if worst else 0)


if __name__ == "__main__":
    main()
