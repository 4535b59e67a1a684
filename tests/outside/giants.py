"""Opens what is too large, never ends or leads in circles with the command line, and says what came of it: how it ended, how long
it took, and how much memory at the most.

    python giants.py STILLMARK_CLI [--page docs/hostile-files.md]

A run may take 120 seconds and 3 GB; beyond that it is *hung* or *over*. Anything but a result or a single sentence is *wrong*.
Any of the three makes the exit status 1. Linux: the largest memory is what the system says of the ended process.
"""
import argparse
import json
import os
import pathlib
import platform
import resource
import signal
import struct
import subprocess
import sys
import tempfile
import time
import zlib

LONGEST = 120
MOST = 3 << 30


def png(width, height, rows=1):
    """A gray PNG that states a size and holds the deflated zeros of so many rows."""
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    squeeze = zlib.compressobj(9)
    data = b"".join(squeeze.compress(bytes(width + 1)) for _ in range(rows)) + squeeze.flush()
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


def sparse(path, size, head=b""):
    with open(path, "wb") as file:
        file.write(head)
        file.truncate(size)


def shot(n, **more):
    return {"id": f"s{n}", "image": f"{n}.png", "view": "lateral", "level": "L4", "side": "right", "stage": "final",
            "mm_per_px": 0.31,
            "marks": {"superior_end_plate": [[412, 305], [340, 316], [268, 318]],
                      "inferior_end_plate": [[405, 398], [262, 421]], "posterior_wall": [[407, 352]], "tip": [[350, 361]]},
            **more}


def case(path, shots, **more):
    path.write_text(json.dumps({"format": "stillmark case", "version": 1, "shots": shots, **more}))


def ring(size):
    """Laterals and APs, each paired with the next of the other view, the last with the first."""
    ap = {"superior_end_plate": [[100, 50], [220, 50]], "inferior_end_plate": [[100, 150], [220, 150]], "tip": [[160, 90]]}
    shots = []
    for n in range(size):
        one = shot(n, pair_with=f"s{(n + 1) % size}")
        if n % 2:
            one.update(view="ap", marks=ap)
        shots.append(one)
    return shots


def deep(depth):
    return '{"format": "stillmark case", "version": 1, "x": ' + "[" * depth + "]" * depth + "}"


def dicom_bomb():
    """A deflated data set of 300 million zeros in 300 kB."""
    meta = b"\x02\x00\x10\x00UI\x16\x001.2.840.10008.1.2.1.99"
    squeeze = zlib.compressobj(9, zlib.DEFLATED, -15)
    data = b"".join(squeeze.compress(bytes(1 << 20)) for _ in range(300)) + squeeze.flush()
    return bytes(128) + b"DICM" + meta + data


def made(work):
    """Every trial: its name, what is run, and whether a result or a refusal is expected (None: either)."""
    w = work
    sparse(w / "zeros.png", 900_000_000)
    sparse(w / "headed.png", 900_000_000, png(64, 64, 64))
    sparse(w / "zeros.dcm", 950_000_000, bytes(128) + b"DICM")
    (w / "vast.png").write_bytes(png(16_000, 16_000, 1))
    (w / "long.png").write_bytes(png(2_000_000_000, 1))
    (w / "dense.png").write_bytes(png(12_000, 12_000, 12_000))
    (w / "bomb.dcm").write_bytes(dicom_bomb())
    os.mkfifo(w / "fifo.png")
    case(w / "shots.case.json", [shot(n) for n in range(100_000)])
    case(w / "points.case.json", [shot(n, labels=[{"kind": "line", "points": [[i, i + 1] for i in range(2)], "text": "x"}
                                                 for _ in range(200)]) for n in range(2_500)])
    case(w / "ring.case.json", ring(5_000))
    case(w / "title.case.json", [shot(0)], title="W" * 100_000)
    (w / "deep.case.json").write_text(deep(2_000_000))
    many = w / "many"
    many.mkdir()
    for n in range(10_000):
        case(many / f"{n:05}.case.json", [shot(0)], title=f"Case {n}")
    mixed = w / "mixed"
    mixed.mkdir()
    for n in range(10_000):
        (mixed / f"{n:05}.dat").write_bytes(b"nothing in particular")
    (w / "readings.csv").write_text("subject,rater,round,value\n" + "".join(
        f"{n},{r},1,{(n * 37 + ord(r)) % 100 / 100}\n" for n in range(40_000) for r in "AB"))
    frame = lambda name: ["frame", str(w / name)]
    read = lambda name, *more: ["read", str(w / name), *more]
    return [
        ("900 MB of zeros, named .png", frame("zeros.png"), False),
        ("900 MB behind a small PNG", frame("headed.png"), False),
        ("950 MB of zeros behind the head of a DICOM file", frame("zeros.dcm"), False),
        ("PNG of 16,000 × 16,000 with one row", frame("vast.png"), False),
        ("PNG of 2,000,000,000 × 1", frame("long.png"), False),
        ("PNG of 12,000 × 12,000 in 140 kB, whole", frame("dense.png"), True),
        ("deflated DICOM file, 300 MB in 300 kB", frame("bomb.dcm"), False),
        ("a pipe that nobody writes to", frame("fifo.png"), False),
        ("/dev/zero", ["frame", "/dev/zero"], False),
        ("/dev/full", ["read", "/dev/full"], False),
        ("/proc/kmsg", ["frame", "/proc/kmsg"], False),
        ("/proc/kmsg as a case", ["read", "/proc/kmsg"], False),
        ("/proc/self/mem", ["frame", "/proc/self/mem"], False),
        ("/sys/kernel/notes as a case", ["read", "/sys/kernel/notes"], False),
        ("case of 100,000 shots, read", read("shots.case.json", "--csv"), True),
        ("case of a million points, read", read("points.case.json", "--csv"), True),
        ("5,000 shots paired in a ring, read", read("ring.case.json", "--json"), True),
        ("title of 100,000 letters, figure", ["figure", str(w / "title.case.json"), "s0", "--out", str(w / "t.pdf")], None),
        ("title of 100,000 letters, report", ["report", str(w / "title.case.json"), "--out", str(w / "r.pdf")], None),
        ("lists nested 2,000,000 deep, read", read("deep.case.json"), False),
        ("folder of 10,000 cases, series", ["series", str(many), "--csv"], True),
        ("folder of 10,000 other files, series", ["series", str(mixed), "--csv"], None),
        ("80,000 readings, reliability", ["repeat", str(w / "readings.csv")], True),
    ]


def limited():
    resource.setrlimit(resource.RLIMIT_AS, (MOST, MOST))


def run(cli, home, arguments):
    """Exit status (None: hung), seconds, largest memory in MB, standard error."""
    with tempfile.TemporaryFile() as err, open(os.devnull, "wb") as out:
        start = time.monotonic()
        child = subprocess.Popen([cli, *arguments], stdin=subprocess.DEVNULL, stdout=out, stderr=err, preexec_fn=limited,
                                 env={**os.environ, "STILLMARK_DATA_DIR": str(home)})
        def late(*_):
            child.kill()
        signal.signal(signal.SIGALRM, late)
        signal.alarm(LONGEST)
        _, status, used = os.wait4(child.pid, 0)
        signal.alarm(0)
        seconds = time.monotonic() - start
        err.seek(0)
        said = err.read().decode("utf-8", "replace").strip()
    code = os.waitstatus_to_exitcode(status)
    return (None if seconds >= LONGEST else code), seconds, used.ru_maxrss / 1024, said


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("cli")
    parser.add_argument("--page", type=pathlib.Path)
    args = parser.parse_args()
    lines = ["| what | ended | seconds | largest memory, MB |", "| --- | --- | --: | --: |"]
    bad, largest = [], 0
    with tempfile.TemporaryDirectory() as work:
        work = pathlib.Path(work)
        home = work / "program"
        for name, arguments, expected in made(work):
            code, seconds, memory, said = run(args.cli, home, arguments)
            largest = max(largest, memory)
            one = len(said.splitlines()) == 1 and "panicked" not in said
            if code is None:
                ended = "**hung**"
            elif code < 0:
                ended = f"**over** (signal {-code})"
            elif code in (0, 1) and expected is not False:
                ended = "result"
            elif code == 2 and one and expected is not True:
                ended = "one sentence"
            else:
                ended = f"**wrong** (status {code})"
            if "**" in ended:
                bad.append(f"{name}: {ended}: {said[-300:]}")
            print(f"{name}: {ended}, {seconds:.2f} s, {memory:.0f} MB  {said[-160:]}", flush=True)
            lines.append(f"| {name} | {ended} | {seconds:.2f} | {memory:.0f} |")
    lines.append("")
    lines.append(f"Written on {time.strftime('%Y-%m-%d')}, {os.cpu_count()} cores, {platform.system()}, "
                 f"load {os.getloadavg()[1]:.0f}; largest memory {largest:.0f} MB of {MOST >> 20} allowed.")
    if args.page:
        text = args.page.read_text()
        begin = "<!-- giants -->\n"
        before, rest = text.split(begin, 1)
        _, after = rest.split("<!-- end -->", 1)
        args.page.write_text(before + begin + "\n".join(lines) + "\n<!-- end -->" + after)
    print("\n".join(bad))
    sys.exit(1 if bad else 0)


if __name__ == "__main__":
    main()
