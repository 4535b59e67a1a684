"""Writes docs/speed.md from one run of all benchmarks, with machine and date, so that it cannot go stale by hand.

    python3 tests/bench/speed.py                          # all benchmarks, release profile; some twenty minutes
    python3 tests/bench/speed.py --times 1                # the cheap ones once each, where the smallest of three is usual
    python3 tests/bench/speed.py --before CHECKOUT        # with ratios to another checkout, timed in the same run
    python3 tests/bench/speed.py --only edit,reading      # these only; of the others the last run in target/speed is told, or
                                                          # what the page says
    python3 tests/bench/speed.py --from FOLDER            # nothing is run: what an earlier run printed is read from there

What each benchmark prints is kept in target/speed, a file each. What cannot be run on a machine (a peer that is not
installed, no display) leaves a row that says so.
"""

import argparse
import datetime
import importlib.util
import json
import os
import pathlib
import platform
import re
import statistics
import subprocess
import sys
import tempfile
import time

import profiles
from memory import parts as made_of

ROOT = pathlib.Path(__file__).resolve().parents[2]
NOT_RUN = "not run"
LEFT_OUT = "it was left out"


class Runner:
    """Runs commands, or reads what they printed before, and keeps it."""

    def __init__(self, args):
        self.args = args
        self.kept = pathlib.Path(args.source) if args.source else ROOT / "target" / "speed"
        self.kept.mkdir(parents=True, exist_ok=True)
        self.only = set(filter(None, args.only.split(","))) if args.only else None
        self.profile = ["--profile", args.profile] if args.profile else []

    def text(self, name, make):
        """What the step of this name printed; a line that begins with "not run" where it could not be run."""
        file = self.kept / f"{name}.txt"
        if self.args.source or (self.only is not None and name.removeprefix("before-") not in self.only):
            return file.read_text() if file.exists() else f"{NOT_RUN}: {LEFT_OUT}\n"
        print(f"{name} …", file=sys.stderr, flush=True)
        try:
            text = make()
        except (OSError, subprocess.SubprocessError, RuntimeError) as error:
            said = getattr(error, "stderr", None) or str(error)
            text = f"{NOT_RUN}: {said.strip().splitlines()[-1] if said.strip() else type(error).__name__}\n"
        file.write_text(text)
        return text

    def times(self, name, *arguments, env=None, where=ROOT):
        """A cheap benchmark several times over; of each of its numbers the smallest counts."""
        return "".join(self.bench(name, *arguments, env=env, where=where) for _ in range(self.args.times))

    def kept_text(self, name):
        """What a step printed in this run or an earlier one."""
        file = self.kept / f"{name}.txt"
        return file.read_text() if file.exists() else ""

    def bench(self, name, *arguments, env=None, where=ROOT):
        command = ["cargo", "bench", "--locked", *self.profile, "--bench", name]
        command += ["--", *arguments] if arguments else []
        return said(command, where, env)


def said(command, where=ROOT, env=None):
    run = subprocess.run(command, cwd=where, env={**os.environ, **(env or {})}, capture_output=True, text=True, check=True)
    return run.stdout


def python(script, *arguments):
    return said([sys.executable, str(ROOT / "tests" / "bench" / script), *map(str, arguments)])


# What was printed, as numbers in seconds.

UNITS = {"s": 1.0, "ms": 1e-3, "µs": 1e-6, "μs": 1e-6, "us": 1e-6, "ns": 1e-9, "ps": 1e-12}


# Criterion measures for eight seconds by itself, which is much for what is run several times over.
BRIEFLY = ["--warm-up-time", "1", "--measurement-time", "2"]


def of_criterion(text):
    """The middle of each interval that criterion prints, by name, the smallest of several runs; a long name stands on a line of
    its own."""
    found, before = {}, ""
    for line in text.splitlines():
        match = re.match(r"(.*?)\s*time:\s+\[\S+ \S+ (\S+) (\S+) \S+ \S+\]", line)
        if match:
            name = match[1].strip() or before.strip()
            found[name] = min(float(match[2]) * UNITS[match[3]], found.get(name, float("inf")))
        elif line.strip() and not line.startswith((" ", "Benchmarking")):
            before = line
    return found


def of_edit(text):
    """The last lines of the benchmark `edit`: `NAME shots=N cpu_us=X`."""
    found = re.findall(r"^(\w+) shots=(\d+) cpu_us=([\d.]+)$", text, re.M)
    least = {}
    for name, shots, us in found:
        key = (name, int(shots))
        least[key] = min(1e-6 * float(us), least.get(key, float("inf")))
    return least


def of_reading_peer(text):
    return {name: 1e-6 * float(us) for name, us in re.findall(r"^(\S+: [^:\n]+): (\d+) us$", text, re.M)}


# Numbers as words.

def seconds(value):
    if value is None:
        return "–"
    for unit, size in (("s", 1.0), ("ms", 1e-3), ("µs", 1e-6), ("ns", 1e-9)):
        if value >= size:
            return f"{value / size:.3g} {unit}"
    return f"{value / 1e-9:.2g} ns"


def ratio(value, other):
    if value is None or not other:
        return "–"
    return f"{value / other:.2f}" if value / other >= 0.01 else f"1 : {other / value:,.0f}"


def table(head, rows):
    lines = ["| " + " | ".join(head) + " |", "| --- |" + " ---: |" * (len(head) - 1)]
    return "\n".join(lines + ["| " + " | ".join(map(str, row)) + " |" for row in rows]) + "\n"


def why_not(text):
    """The sentence that stands for a table where its benchmark was not run."""
    line = text.strip().splitlines()[0] if text.strip() else f"{NOT_RUN}: it printed nothing"
    return f"Not measured in this run ({line.removeprefix(NOT_RUN).lstrip(': ').rstrip('.')}).\n"


# The sections.

STEPS = [
    ("drag", 21, "a step of a drag", 2e-3), ("nudge", 21, "a nudge by an arrow key", 2e-3),
    ("release", 21, "letting a dragged mark go", 2e-3),
    ("drag", 200, "a step of a drag", 3e-3), ("nudge", 200, "a nudge by an arrow key", 3e-3),
    ("release", 200, "letting a dragged mark go", 3e-3),
    ("open", 21, "a case that arrives", 16e-3), ("open", 200, "a case that arrives; most is read in a lane", 16e-3),
    ("all", 21, "a setting for all shots, and the step back", 16e-3),
    ("all", 200, "a setting for all shots, and the step back; most is read in a lane", 16e-3),
]
READINGS = [
    ("pair", 1, "a matched pair with both budgets", 600e-6), ("lateral14", 1, "a lateral of 14 marks", 60e-6),
    ("lateral5", 1, "a lateral of 5 marks", 10e-6), ("series", 80_000, "80,000 readings of a series", None),
]


def editing(run):
    now_text = run.text("edit", lambda: run.times("edit"))
    now = of_edit(now_text)
    before = {}
    if run.args.before or (run.kept / "before-edit.txt").exists():
        other = pathlib.Path(run.args.before or ".").resolve()
        before = of_edit(run.text("before-edit", lambda: run.times("edit", where=other)))
    head = ["what", "shots", "processor time", "limit"] + (["ratio to the version before"] if before else [])

    def row(name, shots, words, limit, told):
        value = now.get((name, shots))
        last = [ratio(value, before.get((name, shots)))] if before else []
        return [words, told, seconds(value), seconds(limit) if limit else "–", *last]

    text = "## What an edit costs the window\n\n"
    text += ("Processor time of the window's own thread for one command through the program's update function, on the "
             "demonstration and on it repeated to 200 shots, the dearest of a lateral, an AP and an en-face shot "
             "(`cargo bench --bench edit`).\n\n")
    text += table(head, [row(*step, step[1]) for step in STEPS]) if now else why_not(now_text)
    text += "\n## Readings\n\nFrom marks to depth and height with their budget, verdicts and issues, in the same run.\n\n"
    head = [head[0], *head[2:]]
    rows = [row(*step, "") for step in READINGS]
    text += table(head, [[row[0], *row[2:]] for row in rows]) if now else why_not(now_text)
    return text


def readings_and_peer(run):
    ours = of_criterion(run.text("reading", lambda: run.times("reading", *BRIEFLY)))
    angle = of_criterion(run.text("true_view", lambda: run.bench("true_view")))
    peer_text = run.text("reading-peer", lambda: python("reading.py"))
    peers = of_reading_peer(peer_text)
    rows = [[name, seconds(value), seconds(peers.get(name)), ratio(value, peers.get(name))]
            for name, value in {**ours, **angle}.items()]
    text = ("\nThe same readings with NumPy and SciPy beside them (`cargo bench --bench reading`, "
            "`python3 tests/bench/reading.py`); the script is written to be right, not to be fast.\n\n")
    text += table(["what", "library", "SciPy", "ratio"], rows) if rows else why_not(peer_text)
    return text if peers or not rows else text + "\n" + why_not(peer_text)


def still(run):
    text = run.text("phantom", lambda: phantom(run))
    lines = [line for line in text.splitlines() if line.strip()]
    words = "## A simulated still\n\nA lateral of 1024 × 1024 from bodies, soft tissue and instruments to stored gray levels, "
    words += "and the same triangles and filters with NumPy and SciPy on one core, as both print it:\n\n"
    if text.startswith(NOT_RUN):
        return words.split(", as both")[0] + ".\n\n" + why_not(text)
    return words + "\n".join(f"- {line}" for line in lines) + "\n"


def phantom(run):
    with tempfile.TemporaryDirectory() as folder:
        # The same line several times, of which the fastest counts.
        runs = (run.times("phantom") + run.bench("phantom", env={"STILLMARK_BENCH_SCENE": folder})).splitlines()
        ours = min(runs, key=lambda line: float(re.search(r": ([\d.]+) s", line)[1])) + "\n"
        try:
            peer = python("phantom.py", folder)
        except subprocess.SubprocessError as error:
            peer = f"the peer was {NOT_RUN}: {(error.stderr or '?').strip().splitlines()[-1]}\n"
        return ours + peer


def plain(name, title, words):
    """A section of whatever criterion printed, each row by its own name."""
    def section(run):
        text = run.text(name, lambda: run.times(name, *BRIEFLY))
        found = of_criterion(text)
        body = table(["what", "time"], [[what, seconds(value)] for what, value in found.items()]) if found else why_not(text)
        return f"## {title}\n\n{words}\n\n{body}"
    return section


def proposal(run):
    text = run.text("proposal", lambda: run.bench("proposal"))
    found = of_criterion(text)
    limits = {"two clicks": 150e-3, "further shot": 150e-3, "dragged": 16e-3}
    limit = lambda what: next((most for word, most in limits.items() if word in what), None)
    rows = [[what.removeprefix("proposal: "), seconds(value), seconds(limit(what)), ratio(value, limit(what))]
            for what, value in found.items()]
    beside = [line for line in text.splitlines() if "the prototype" in line]
    words = ("A lateral still of 1024 × 1024 and 16 bits, on one core (`cargo bench --bench proposal`; with the folder of the prototype in "
             "`STILLMARK_BENCH_PROTOTYPE` also beside it, which is Python on NumPy, OpenCV and Numba).\n\n")
    body = table(["what", "time", "limit", "share of the limit"], rows) if rows else why_not(text)
    return "## Proposed marks\n\n" + words + body + ("\n" if beside else "") + "".join(f"- {line}\n" for line in beside)


def warp(run):
    text = run.text("warp", lambda: run.bench("warp"))
    words = ("One frame of 2048 × 2048 drawn in another one's frame, beside OpenCV's `remap` in the same run "
             "(`cargo bench --bench warp`), as it prints it:\n\n")
    lines = [line for line in text.splitlines() if line.strip()]
    return words + (why_not(text) if text.startswith(NOT_RUN) else "\n".join(f"- {line}" for line in lines) + "\n")


def figure(run):
    text = run.text("figure", lambda: run.bench("figure"))
    ours = of_criterion(text)
    peer_text = run.text("figure-peer", lambda: python("figure.py"))
    found = re.findall(r"figure to (\w+), matplotlib (\S+): median (\d+) ms", peer_text)
    peers = {name: 1e-3 * float(ms) for name, _, ms in found}
    rows = []
    for name, value in ours.items():
        beside = next((peer for ending, peer in peers.items() if name.endswith(f"to {ending}") and "report" not in name), None)
        rows.append([name, seconds(value), "0.6 s" if "report" in name else "0.2 of its", seconds(beside), ratio(value, beside)])
    head = ["what", "time", "limit", f"matplotlib {found[0][1]}" if found else "matplotlib", "ratio"]
    body = table(head, rows) if rows else why_not(text)
    return "## Figures and the report\n\n`cargo bench --bench figure`, and about the same figure by `tests/bench/figure.py`.\n\n" + body


def opening(run):
    text = run.text("open", lambda: python("open.py", 500))
    lines = [line for line in text.splitlines() if line.startswith("|")]
    body = "\n".join(lines) + "\n" if lines else why_not(text)
    for line in text.splitlines():
        if line.startswith("{"):
            it = json.loads(line)
            body += (f"\nA folder of **{it['pictures']} mixed frames** as the window opens it: listed after {seconds(it['listed'])}, "
                     f"the first picture shown after {seconds(it['shown'])}, all small pictures after {seconds(it['all_small'])}; "
                     f"the longest turn of the window's own thread took {seconds(it['longest_turn'])}; samples in memory never took "
                     f"more than {it['peak_mib']:.0f} MiB, of a budget of 1024 MiB.\n")
    body += "".join(f"\n{line}\n" for line in text.splitlines() if line.startswith("Peers: "))
    return ("## Opening\n\n1024 × 1024 frames, each opened five times by each program in three turns of all, the fastest counts "
            "(`python3 tests/bench/open.py 500`). The library's time includes everything the file says of itself. The file's SHA-256 "
            "is made beside the decoding, of a TIFF after it, since its strips take all cores, and the next column says when both were "
            "there; the peers make none, so that the ratio is of decoding alone. JPEG 2000 is decoded in a process of its own, whose start is in the time.\n\n" + body)


def series(run):
    text = run.text("series", lambda: python("series.py", program(run, "stillmark-cli")))
    found = re.findall(r"^\s*(.+?):\s+([\d.]+) s,\s+(\d+) MB, ([\d.]+) of the script$", text, re.M)
    rows = [[name, seconds(float(s)), of, f"{mb} MB"] for name, s, mb, of in found]
    body = table(["what", "time", "ratio to the script", "most memory, an upper bound"], rows) if rows else why_not(text)
    return ("## Many cases\n\n10,000 synthetic case files of 8 shots, some broken or no case, table and all statistics as JSON, the "
            "fastest of three runs (`python3 tests/bench/series.py PATH-OF-stillmark-cli`), beside the same reading and statistics "
            "with pandas, NumPy and statsmodels, which carry no uncertainty.\n\n" + body)


def program(run, name):
    profile = run.args.profile or "release"
    said(["cargo", "build", "--locked", "--profile", profile, "--bin", name])
    target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    return target / ("debug" if profile == "dev" else profile) / name


def window(run):
    text = run.text("window", lambda: started(run))
    rows = [line.split("\t") for line in text.splitlines() if "\t" in line]
    body = table(["what", "seen"], rows) if rows else why_not(text)
    return ("## The window at rest\n\nThe built program with the demonstration, drawn without a graphics card on a virtual display. "
            "To see the first picture's time by hand, start it with `STILLMARK_TRACE_LAYOUT=1` and wait for `ready=true` on standard "
            "error. None of the renderer's part is there with a graphics card. How much of the heap is its own cannot be told from "
            "outside; heaptrack counted it once (debug build, 2026-11-30): of 42 MB alive with the demonstration open, 26 were asked "
            "for by the renderer, 7 by its compiler and other libraries of the system, and 8 by this program.\n\n" + body)


def started(run):
    """Five starts of the program: to the first picture, its memory, and its processor time while nothing changes."""
    binary = program(run, "stillmark")
    if not os.environ.get("DISPLAY"):
        raise RuntimeError("there is no display; start one, as .ci/journey.sh does, and set DISPLAY")
    case = ROOT / "sample-images" / "demonstration.case.json"
    first, memory, parts, ticks, wakes = [], [], [], [], []
    threads = idle_threads()
    with tempfile.TemporaryDirectory() as home:
        env = {**os.environ, "STILLMARK_TRACE_LAYOUT": "1", "STILLMARK_DATA_DIR": home, "XDG_DATA_HOME": home,
               "LIBGL_ALWAYS_SOFTWARE": "1"}
        for _ in range(5):
            begun = time.perf_counter()
            app = subprocess.Popen([binary, case], env=env, stderr=subprocess.PIPE, text=True)
            try:
                for line in app.stderr:
                    if "ready=true" in line:
                        break
                else:
                    raise RuntimeError("the window showed no picture")
                first.append(time.perf_counter() - begun)
                time.sleep(6)
                status = pathlib.Path(f"/proc/{app.pid}/status").read_text()
                memory.append(int(re.search(r"VmRSS:\s+(\d+) kB", status)[1]) / 1024)
                parts.append(made_of(app.pid))
                busy = lambda: sum(map(int, pathlib.Path(f"/proc/{app.pid}/stat").read_text().rsplit(")", 1)[1].split()[11:13]))
                from_ticks, from_wakes = busy(), threads(app.pid)
                time.sleep(10)
                ticks.append(busy() - from_ticks)
                wakes.append(sum(one[1] - from_wakes.get(name, one)[1] for name, one in threads(app.pid).items()))
            finally:
                app.kill()
                app.wait()
    rows = [("start of the program to the first picture, five runs", ", ".join(seconds(s) for s in sorted(first))),
            ("resident memory with the demonstration open", span(memory)),
            *((f"of it: {kind}", span([one[kind] for one in parts])) for kind in parts[0]),
            ("processor time while nothing changes, 10 seconds, five runs", f"{', '.join(map(str, ticks))} clock ticks"),
            ("wake-ups of all its threads in that time", ", ".join(map(str, wakes)))]
    return "".join(f"{what}\t{seen}\n" for what, seen in rows)


def span(megabytes):
    return f"{min(megabytes):.0f}–{max(megabytes):.0f} MB"


def idle_threads():
    """What counts a process's wake-ups, as .ci/idle.sh does."""
    place = importlib.util.spec_from_file_location("idle", ROOT / ".ci" / "idle.py")
    idle = importlib.util.module_from_spec(place)
    place.loader.exec_module(idle)
    return idle.threads


def scaling(run):
    """Its own page and plot; here only what it prints."""
    text = run.text("scaling", lambda: python("scaling.py", program(run, "stillmark-cli")) or "written\n")
    words = "## Time and memory against size\n\n"
    return words + (why_not(text) if text.startswith(NOT_RUN) else "[A page of its own](scaling.md), with a plot.\n")


def profiled(run):
    """Of what a user waits for: which function takes what share."""
    text = run.text("profiles", lambda: profiles.told(window=program(run, "stillmark")))
    words = ("## Where the time goes\n\nShares of processor time by function, as `perf` samples them (`python3 tests/bench/profiles.py "
             "BENCHMARK`), two hundredths and more, of what is slower than its goal or was. `vectorize_avx2` is what is drawn several "
             "pixels at a time: in a registration `align::warp`, and the matching of grays in `align::matched`; `spline` and `hypot` are the grid of a registration.\n\n")
    if text.startswith(NOT_RUN):
        return words + why_not(text)
    parts = re.findall(r"^(.*):\n((?:.*\t.*\n)+)", text, re.M)
    left_out = "".join(f"Left out: {line.removeprefix(NOT_RUN + ': ')}.\n\n" for line in text.splitlines() if line.startswith(NOT_RUN))
    tables = (table(["share", what], [line.split("\t") for line in rows.splitlines()]) for what, rows in parts)
    return words + left_out + "\n".join(tables)


SECTIONS = [
    window, editing, readings_and_peer, still,
    plain("greys", "Grays of a 2048 × 2048 frame of 16 bits",
          "What one frame of the window computes for a canvas of 700 × 600 points in a window of 1280 × 800 "
          "(`cargo bench --bench greys`; target 16 ms)."),
    plain("compare", "Two shots registered",
          "Two frames of 2048 × 2048 and 16 bits in a window of 1280 × 800 (`cargo bench --bench compare`; target 16 ms a frame, but "
          "for what is drawn once for each pair of shots, away from the window)."),
    warp, proposal, figure, opening, series, scaling, profiled,
]


def first_number(pattern, text, scale=1.0):
    found = re.search(pattern, text, re.M)
    return scale * float(found[1]) if found else None


def goals(run):
    """What was asked for and what this run saw, from what its benchmarks printed."""
    text = run.kept_text
    rows = []

    def row(what, most, seen, unit):
        """A row; `seen` in the unit of `most`, or `None` where it was not run."""
        told = lambda value: f"{value:.3g}{unit}"
        met = "–" if seen is None else "yes" if seen <= most else "**no**"
        rows.append([what, told(most), "not run" if seen is None else told(seen), met])

    milliseconds = lambda value: None if value is None else 1e3 * value
    for bits in (8, 16):
        seen = first_number(rf"^{bits} bits: .*; ratio ([\d.]+)", text("warp"))
        row(f"a frame of {bits} bits drawn in another one's, of OpenCV's `remap`", 1.0, seen, "")
    compared, greys = of_criterion(text("compare")), of_criterion(text("greys"))
    row("two shots registered, once a pair", 20, milliseconds(compared.get("laid once, away from the window")), " ms")
    opened = dict(re.findall(r"^\| ([^|]+?) \| .* \| ([\d.]+) \|$", text("open"), re.M))
    for kind in ("bmp", "tiff", "tiff lzw", "tiff deflate", "dicom", "jpeg", "dicom jpeg 2000"):
        row(f"opening {kind}, of the fastest peer", 1.0, float(opened[kind]) if kind in opened else None, "")
    row("opening, geometric mean of all formats", 0.6, first_number(r"^\| geometric mean .* ([\d.]+) \|$", text("open")), "")
    for what, most in (("first run", 1.0), ("one file changed", 0.1)):
        seen = first_number(rf"^\s*{what}:.* ([\d.]+) of the script$", text("series"))
        row(f"10,000 cases, {what}, of the script", most, seen, "")
    seen = milliseconds(greys.get("picture moved with local contrast: part, 1:1"))
    row("window or picture moved at 1:1 with local contrast", 8, seen, " ms")
    window = text("window")
    starts = re.search(r"^start of .*\t(.*)$", window, re.M)
    least = min((float(ms) for ms in re.findall(r"([\d.]+) ms", starts[1])), default=None) if starts else None
    row("start to the first picture, fastest of five", 250, least, " ms")
    row("resident memory with the demonstration open", 110, first_number(r"^resident .*–(\d+) MB", window), " MB")
    row("a simulated still of 1024²", 0.4, first_number(r"^a still of .*?: ([\d.]+) s", text("phantom")), " s")
    wakes = re.search(r"^wake-ups .*\t(.*)$", window, re.M)
    row("wake-ups at rest in ten seconds", 0, max(map(float, wakes[1].split(","))) if wakes else None, "")
    return ("## Goals\n\nWhere a goal is not met, a profile at the end of the page, or the breakdown of the memory, says what takes it.\n\n"
            + table(["what", "goal", "seen", "met"], rows))


def machine(run):
    """Where and when this was measured, in a sentence; kept beside what was printed."""
    def look():
        model = re.search(r"model name\s*:\s*(.+)", pathlib.Path("/proc/cpuinfo").read_text())
        memory = re.search(r"MemTotal:\s+(\d+)", pathlib.Path("/proc/meminfo").read_text())
        commit = said(["git", "rev-parse", "--short", "HEAD"]).strip()
        return (f"Measured on {datetime.date.today():%Y-%m-%d} at commit {commit}, {run.args.profile or 'release'} profile: "
                f"{model[1] if model else platform.machine()}, {os.cpu_count()} processors, "
                f"{int(memory[1]) / 2**20:.0f} GiB of memory, {platform.system()} {platform.release().split('-')[0]}, "
                f"{said(['rustc', '--version']).split(' (')[0]}, Python {platform.python_version()}; load at the beginning "
                f"{os.getloadavg()[0]:.1f}.\n")
    file = run.kept / "machine.txt"
    if run.args.source:
        return file.read_text() if file.exists() else "Where this was measured is not known.\n"
    told = re.search(r"^Measured on .*$", page(run), re.M)
    if run.only is not None and (file.exists() or told):
        first = file.read_text() if file.exists() else told[0]
        commit = said(["git", "rev-parse", "--short", "HEAD"]).strip()
        return f"{first.rstrip()} Measured again since, at commit {commit}: {', '.join(sorted(run.only))}.\n"
    file.write_text(look())
    return file.read_text()


def page(run):
    """The page as it stands."""
    file = pathlib.Path(run.args.out)
    return file.read_text() if file.exists() else ""


def carried(new, old):
    """The new page, with what was left out of this run as the old one has it: whole sections, and rows of the goals."""
    parts = lambda text: re.split(r"^(?=## )", text, flags=re.M)
    heading = lambda part: part.split("\n", 1)[0]
    before = {heading(part): part for part in parts(old)[1:]}
    told = "".join(before.get(heading(part), part) if LEFT_OUT in part else part for part in parts(new))
    rows = {line.split(" | ")[0]: line for line in before.get("## Goals", "").splitlines() if line.startswith("| ")}
    lines = (rows.get(line.split(" | ")[0], line) if line.endswith("| not run | – |") else line for line in told.splitlines())
    return "\n".join(lines) + "\n"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--before", help="another checkout, whose edits and readings are timed in the same run")
    parser.add_argument("--only", help="names of benchmarks, between commas")
    parser.add_argument("--times", type=int, default=3, help="how often the cheap benchmarks are run")
    parser.add_argument("--profile", help="the profile to build with, other than that of cargo bench")
    parser.add_argument("--from", dest="source", help="a folder with what an earlier run printed")
    parser.add_argument("--out", default=str(ROOT / "docs" / "speed.md"))
    run = Runner(parser.parse_args())
    text = "# How fast, how large, how quiet\n\nWritten by `tests/bench/speed.py` from one run of all benchmarks; not to be edited by hand.\n"
    text += "\n" + machine(run)
    sections = "".join("\n" + section(run).lstrip("\n") for section in SECTIONS)
    text += "\n" + goals(run) + sections
    pathlib.Path(run.args.out).write_text(text if run.only is None else carried(text, page(run)))


if __name__ == "__main__":
    main()
