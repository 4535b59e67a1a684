"""Where a benchmark's time goes, as Linux's `perf` samples it: which function takes what share of the processor time.

    python3 tests/bench/profiles.py BENCHMARK [ARGUMENT …]

Builds the benchmark with the names of its functions, runs it under `perf record`, and prints a line for each function that
takes two hundredths or more: its share, a tab, its name.
"""

import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

from memory import RENDERER

ROOT = pathlib.Path(__file__).resolve().parents[2]
# Functions below this share are not told.
LEAST = 2.0


def built(name, profile="bench", kind="--bench"):
    """The benchmark's (or, by `--bin`, the program's) file with its symbols; everything it is linked from is as `cargo bench` has it."""
    command = ["cargo", "rustc", "--locked", "--profile", profile, kind, name, "--message-format", "json", "--", "-C", "strip=none"]
    run = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    told = [json.loads(line) for line in run.stdout.splitlines() if line.startswith("{")]
    return next(one["executable"] for one in told if one.get("executable") and one["target"]["name"] == name)


def profile(program, arguments, sort="symbol", env=None, longest=None):
    """Shares in hundredths by what `perf` sorts for, the largest first."""
    with tempfile.TemporaryDirectory() as place:
        data = str(pathlib.Path(place) / "perf.data")
        # The processor's own counter is not there on every virtual machine; the clock is.
        record = ["perf", "record", "-q", "-e", "cpu-clock", "-F", "2000", "-o", data, "--", *(["timeout", str(longest)] if longest else [])]
        subprocess.run([*record, str(program), *map(str, arguments)], env={**os.environ, **(env or {})},
                       cwd=ROOT, capture_output=True, text=True, check=not longest)
        report = ["perf", "report", "-i", data, "--stdio", "-q", "--no-children", "-g", "none", "--sort", sort]
        text = subprocess.run(report, capture_output=True, text=True, check=True).stdout
    found = re.findall(r"^\s+([\d.]+)%\s+(.*?\S)(?:\s+-)*\s*$", text, re.M)
    return [(float(share), plain(name)) for share, name in found]


def plain(name):
    """A symbol as people write it: without the hash of its build, the crate and the types it is made for."""
    name = re.sub(r"^\[[.k]\]\s+", "", name)
    name = re.sub(r"::h[0-9a-f]{16}\b", "", name)
    while (shorter := re.sub(r"<[^<>]*>", "", name)) != name:
        name = shorter
    name = re.sub(r"(::)?\{\{closure\}\}", "", name).replace("::::", "::").strip(":")
    return name or "?"


def lines(found, least=LEAST):
    """Those that take enough, those of one name together."""
    together = {}
    for share, name in found:
        together[name] = together.get(name, 0.0) + share
    kept = sorted(((share, name) for name, share in together.items() if share >= least), reverse=True)
    return "".join(f"{share:.0f} %\t{name}\n" for share, name in kept)


# What is told of on the page: how it is called there, the benchmark, and what it is asked for.
PROFILED = [
    ("two shots registered, once a pair", "compare", ["--profile-time", "5", "laid once"]),
    ("one frame drawn in another one's, 8 and 16 bits, and how its picture is made", "warp", ["--own"]),
    ("a simulated still", "phantom", []),
]
# Formats of `open.py` whose opening is told of, and how often one is opened for it.
OPENED = {"jpeg": 1000, "tiff": 3000, "tiff lzw": 400, "dicom jpeg 2000": 20}


def opened():
    """A file of each of these formats, opened over and over, with its digest."""
    import open as frames

    program = built("open")
    with tempfile.TemporaryDirectory() as place:
        for kind, rounds in OPENED.items():
            file = pathlib.Path(place) / f"one{frames.KINDS[kind]}"
            frames.write(file, kind, list(frames.KINDS).index(kind))
            found = profile(program, ["--bench", f"--rounds={rounds}", file])
            where = "decoded in this process" if "2000" in kind else "with its digest on the other core"
            yield f"a frame of 1024² opened: {kind}, {where}", found


def changed():
    """The audit of 10,000 cases where all but one file are as they were."""
    import series

    program = built("stillmark-cli", profile="release", kind="--bin")
    with tempfile.TemporaryDirectory() as place:
        root, home = pathlib.Path(place) / "cases", pathlib.Path(place) / "home"
        root.mkdir()
        home.mkdir()
        series.write_cases(root, 10_000)
        arguments = ["series", root, "--json"]
        env = {"STILLMARK_DATA_DIR": str(home)}
        subprocess.run([program, *map(str, arguments)], env={**os.environ, **env}, capture_output=True, check=True)
        one = next(root.rglob("*.case.json"))
        one.write_text(one.read_text() + " ")
        return profile(program, arguments, env=env)


def library(name, program):
    """What a mapped file is to the window's program."""
    if name == program:
        return "the program itself"
    if name.startswith("[kernel") or name == "[unknown]":
        return "the system's kernel"
    if name.startswith(("libLLVM", "libz3")):
        return "the software renderer's compiler"
    if any(part in name for part in RENDERER):
        return "the software renderer"
    if name.startswith(("[JIT]", "perf-", "memfd")) or name.startswith("//anon"):
        return "what the renderer has compiled"
    return "other libraries of the system"


def start(program):
    """Shares of the first three seconds of the window's program by library; it does nothing once its picture is shown."""
    case = ROOT / "sample-images" / "demonstration.case.json"
    with tempfile.TemporaryDirectory() as home:
        env = {"STILLMARK_DATA_DIR": home, "XDG_DATA_HOME": home, "LIBGL_ALWAYS_SOFTWARE": "1"}
        found = profile(program, [case], sort="dso", env=env, longest=3)
    return [(share, library(name, pathlib.Path(program).name)) for share, name in found]


def told(wanted=PROFILED, window=None):
    """All of them, each below its name; `window` is the window's program. What cannot be profiled says so in a line."""
    text = ""
    for what, bench, arguments in wanted:
        text += f"{what}:\n{lines(profile(built(bench), ['--bench', *arguments]))}"
    try:
        for what, found in opened():
            text += f"{what}:\n{lines(found)}"
    except ImportError as error:
        text += f"not run: the opened frames ({error})\n"
    text += f"the audit of 10,000 cases, one file changed:\n{lines(changed())}"
    if window and os.environ.get("DISPLAY"):
        text += f"start of the program to the first picture, by library:\n{lines(start(window))}"
    else:
        text += "not run: the start of the program (there is no display)\n"
    return text


def main():
    bench, *arguments = sys.argv[1:]
    print(lines(profile(built(bench), ["--bench", *arguments])), end="")


if __name__ == "__main__":
    main()
