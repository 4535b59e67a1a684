#!/usr/bin/env bash
# The window at rest: with the demonstration open and nothing moved, no thread of the program may
# wake in ten seconds, and none may use the processor. Counted are the switches of
# each thread by /proc (voluntary_ctxt_switches: each sleep that ended). Needs Xvfb and xdotool; builds what it needs.
#
#   .ci/idle.sh [PROGRAM]     the debug build, unless a program is named
set -euo pipefail
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-$PWD/target}
if [ $# -eq 0 ]; then cargo build --locked --quiet --bin stillmark; fi
program=${1:-$target/debug/stillmark}

. .ci/window.sh
display 1280x800
open_window "$program" sample-images/demonstration.case.json
# Into the window's corner, so that no pointer rests on a control; then the last image decoded and the last animation over.
xdotool mousemove 1279 799
sleep "${STILLMARK_SETTLE:-12}"
python3 .ci/idle.py "$app" 10
