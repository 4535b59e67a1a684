#!/usr/bin/env bash
# Makes the pictures of the docs anew: the window with the demonstration, and the figure of two shots. Needs Xvfb,
# xdotool, ImageMagick and poppler; builds what it needs. Run it after a change that is seen, and look at what it made.
set -euo pipefail
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-$PWD/target}
profile=${1:-release}
flag=$([ "$profile" = release ] && echo --release || true)
cargo build --locked --quiet $flag --bin stillmark --bin stillmark-cli

work=$(mktemp -d)
pids=()
finish() {
  for pid in "${pids[@]}"; do kill "$pid" 2>/dev/null || true; done
  rm -rf "$work"
}
trap finish EXIT

# The window, on a display of its own.
Xvfb -displayfd 3 -screen 0 1280x800x24 -nolisten tcp 3>"$work/display" 2>"$work/xvfb.log" &
pids+=($!)
for _ in $(seq 100); do [ -s "$work/display" ] && break; sleep 0.1; done
export DISPLAY=":$(cat "$work/display")"
env XDG_DATA_HOME="$work" DBUS_SESSION_BUS_ADDRESS=unix:path=/nonexistent LIBGL_ALWAYS_SOFTWARE=1 \
  STILLMARK_TRACE_LAYOUT=1 STILLMARK_DATA_DIR="$work/program" \
  "$target/$profile/stillmark" sample-images/demonstration.case.json 2>"$work/trace" &
pids+=($!)
window=""
for _ in $(seq 300); do
  window=$(xdotool search --name '^Stillmark' 2>/dev/null | tail -n 1 || true)
  [ -n "$window" ] && grep -q 'ready=true shot=l4-right-lateral-final' "$work/trace" && break
  sleep 0.1
done
[ -n "$window" ] || { echo "the window did not open"; cat "$work/trace"; exit 1; }
xdotool windowmove "$window" 0 0
xdotool windowfocus "$window"
# The small images below come one after the other.
sleep 4
import -window root "$work/window.png"
convert "$work/window.png" -strip -define png:compression-level=9 docs/window.png

# A figure of two shots, as it stands in docs/figures.md.
"$target/$profile/stillmark-cli" figure sample-images/demonstration.case.json l4-right-lateral-stylet \
  l4-right-lateral-final --kind before_after --width double --letters --scale-bar --out "$work/figure.png"
convert "$work/figure.png" -resize 1200x -strip -quality 82 docs/figure-before-after.jpg
echo "docs/window.png and docs/figure-before-after.jpg are new: look at them"
