"""Runs a command and prints its seconds and its peak memory in megabytes, as JSON. The system counts as a process's peak
also what the process was copied from, so that this one, which is small, stands between.

    python3 -S -E alone.py COMMAND [ARGUMENT ...]
"""

import json
import os
import sys
import time

out = os.open(os.devnull, os.O_WRONLY)
begun = time.perf_counter()
process = os.posix_spawnp(sys.argv[1], sys.argv[1:], os.environ, file_actions=[(os.POSIX_SPAWN_DUP2, out, 1)])
_, status, usage = os.wait4(process, 0)
seconds = time.perf_counter() - begun
print(json.dumps({"seconds": seconds, "mb": usage.ru_maxrss / 1024, "status": os.waitstatus_to_exitcode(status)}))
