#!/usr/bin/env bash
# One journey in a real window: open a picture, place all marks with real clicks, save with the keyboard; then the
# command line must read what was clicked. Needs Xvfb and xdotool; builds what it needs.
set -euo pipefail
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-$PWD/target}
cargo build --locked --quiet --bin stillmark --bin stillmark-cli

. .ci/window.sh
display 1280x800

# The picture and the places to click: a shot of the demonstration, its own marks taken away.
cp sample-images/images/l4-right-lateral-final.png "$work/still.png"
python3 .ci/journey.py places sample-images/demonstration.case.json l4-right-lateral-final >"$work/places"

open_window "$target/debug/stillmark" "$work/still.png"

mark_still "$work/places" "$work/clicked" 0.4

save_case "$work/journey.case.json"

"$target/debug/stillmark-cli" read --json "$work/journey.case.json" >"$work/reading.json" || true
python3 .ci/journey.py check "$work/clicked" "$work/journey.case.json" "$work/reading.json" "$trace"
