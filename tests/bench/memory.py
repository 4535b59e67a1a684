"""What the memory of a running program is made of, by /proc/PID/smaps.

    python3 tests/bench/memory.py PID
"""

import pathlib
import re
import sys

RENDERER = ("libLLVM", "_dri.so", "libgallium", "libz3")
KINDS = [
    "the system's software renderer: its libraries",
    "other libraries of the system",
    "the program itself",
    "shared with the display",
    "its own data: heap, stacks, and what the renderer keeps there",
]


def kind(name, program):
    """The place in KINDS of a mapping by its name."""
    if any(part in name for part in RENDERER):
        return 0
    if name == program:
        return 2
    if name.startswith(("/SYSV", "/memfd", "/dev/")):
        return 3
    if name.startswith("/"):
        return 1
    return 4


def parts(pid):
    """Resident megabytes by kind."""
    program = str(pathlib.Path(f"/proc/{pid}/exe").readlink())
    found, at = dict.fromkeys(KINDS, 0.0), KINDS[4]
    for line in pathlib.Path(f"/proc/{pid}/smaps").read_text().splitlines():
        head = re.match(r"[0-9a-f]+-[0-9a-f]+ \S+ \S+ \S+ \S+\s*(.*)", line)
        if head:
            at = KINDS[kind(head[1].removesuffix(" (deleted)"), program)]
        elif line.startswith("Rss:"):
            found[at] += int(line.split()[1]) / 1024
    return found


def main():
    for name, megabytes in parts(sys.argv[1]).items():
        print(f"{megabytes:6.1f} MB  {name}")


if __name__ == "__main__":
    main()
