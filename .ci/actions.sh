#!/usr/bin/env bash
# Counts the actions of the usual work in the real window, at two sizes: tests/window/actions.py says how. Needs Xvfb and
# xdotool; builds what it needs.
set -euo pipefail
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-$PWD/target}
cargo build --locked --quiet --bin stillmark
. .ci/window.sh
case_file=$PWD/sample-images/demonstration.case.json

# Stills that nobody has said anything of: one, and nine of one size.
cp sample-images/images/l4-right-lateral-final.png "$work/still.png"
mkdir "$work/nine"
for n in 1 2 3 4 5 6 7 8 9; do cp sample-images/images/l4-right-lateral-final.png "$work/nine/still-$n.png"; done

status=0
count() {
  TRACE=$trace WINDOW=$window python3 tests/window/actions.py "$1" "$work" "$case_file" "$2" || status=1
}
for size in "1280x800 0.5" "1920x1080 0.6"; do
  read -r size least <<<"$size"
  echo "== $size"
  display "$size"
  open_window "$target/debug/stillmark" "$work/still.png"
  count first "$least"
  close_window
  open_window "$target/debug/stillmark" "$work/nine"
  count scales "$least"
  close_window
  open_window "$target/debug/stillmark" "$case_file"
  sleep 3
  count read "$least"
  close_window
done
exit $status
