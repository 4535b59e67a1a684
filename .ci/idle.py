"""Counts what a process does in some seconds: wake-ups and clock ticks of each of its threads. Fails where there were any.

    python3 idle.py PID SECONDS
"""

import pathlib
import re
import sys
import time


def threads(pid):
    """By thread: its name, how often it has gone to sleep and woken, and the clock ticks it has used."""
    found = {}
    for place in pathlib.Path(f"/proc/{pid}/task").iterdir():
        try:
            status = (place / "status").read_text()
            fields = (place / "stat").read_text().rsplit(")", 1)[1].split()
        except OSError:  # it has ended meanwhile
            continue
        switches = int(re.search(r"^voluntary_ctxt_switches:\s+(\d+)", status, re.M)[1])
        name = re.search(r"^Name:\s+(.*)", status, re.M)[1]
        found[place.name] = (name, switches, int(fields[11]) + int(fields[12]))
    return found


def main():
    pid, seconds = sys.argv[1], float(sys.argv[2])
    before = threads(pid)
    time.sleep(seconds)
    after = threads(pid)
    if not after:
        sys.exit("the program ended")
    wakes = ticks = 0
    for thread, (name, switches, used) in sorted(after.items(), key=lambda item: int(item[0])):
        _, had, before_used = before.get(thread, (name, 0, 0))
        if switches > had or used > before_used:
            print(f"{name}: {switches - had} wake-ups, {used - before_used} clock ticks")
        wakes += switches - had
        ticks += used - before_used
    print(f"{len(after)} threads, {wakes} wake-ups and {ticks} clock ticks in {seconds:.0f} s")
    if wakes or ticks:
        sys.exit("the window does not rest")


if __name__ == "__main__":
    main()
