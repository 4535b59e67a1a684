#!/usr/bin/env bash
# One journey in a real window: open a picture, place all marks with real clicks, save with the keyboard; then the
# command line must read what was clicked. Needs Xvfb and xdotool; builds what it needs.
set -euo pipefail
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-$PWD/target}
cargo build --locked --quiet --bin stillmark --bin stillmark-cli

work=$(mktemp -d)
pids=()
finish() {
  for pid in "${pids[@]}"; do kill "$pid" 2>/dev/null || true; done
  rm -rf "$work"
}
trap finish EXIT

# A display of its own, on the first number that is free.
Xvfb -displayfd 3 -screen 0 1280x800x24 -nolisten tcp 3>"$work/display" 2>"$work/xvfb.log" &
pids+=($!)
for _ in $(seq 100); do [ -s "$work/display" ] && break; sleep 0.1; done
export DISPLAY=":$(cat "$work/display")"

# The picture and the places to click: a shot of the demonstration, its own marks taken away.
cp sample-images/images/l4-right-lateral-final.png "$work/still.png"
python3 .ci/journey.py places sample-images/demonstration.case.json l4-right-lateral-final >"$work/places"

# Neither a portal nor a dialog program is at hand, on any machine: the path to save under is typed.
env PATH=/nonexistent XDG_DATA_HOME="$work" DBUS_SESSION_BUS_ADDRESS=unix:path=/nonexistent \
  LIBGL_ALWAYS_SOFTWARE=1 STILLMARK_TRACE_LAYOUT=1 STILLMARK_DATA_DIR="$work/program" \
  "$target/debug/stillmark" "$work/still.png" 2>"$work/trace" &
app=$!
pids+=("$app")
window=""
for _ in $(seq 300); do
  window=$(xdotool search --name '^Stillmark' 2>/dev/null | tail -n 1 || true)
  [ -n "$window" ] && grep -q 'ready=true' "$work/trace" && break
  kill -0 "$app" || { echo "the window did not open"; cat "$work/trace"; exit 1; }
  sleep 0.1
done
[ -n "$window" ] || { echo "there is no window"; exit 1; }
xdotool windowmove "$window" 0 0
# Without a window manager nobody else gives the window the keyboard.
xdotool windowfocus "$window"
sleep 1

# Before any mark the view is asked: a lateral. Then the whole image is shown, and it is marked corner by corner.
for key in e Escape f shift+c; do
  xdotool key --clearmodifiers "$key"
  sleep 0.4
done

# Fit is deterministic: the canvas and its map are written to standard error, in pixels of the window.
while read -r x y; do
  read -r px py < <(python3 .ci/journey.py pixel "$work/trace" "$x" "$y")
  xdotool mousemove --window "$window" "$px" "$py"
  sleep 0.2
  xdotool click 1
  sleep 0.3
  python3 .ci/journey.py image "$work/trace" "$px" "$py" >>"$work/clicked"
done <"$work/places"

# Save with the keyboard.
xdotool key --clearmodifiers ctrl+s
sleep 1.5
xdotool key --clearmodifiers ctrl+a
xdotool type --delay 20 "$work/journey.case.json"
xdotool key Return
for _ in $(seq 50); do [ -s "$work/journey.case.json" ] && break; sleep 0.1; done
if [ ! -s "$work/journey.case.json" ]; then
  echo "the case was not saved"
  cat "$work/trace"
  import -window root "${TMPDIR:-/tmp}/journey-failed.png" 2>/dev/null || true
  exit 1
fi

"$target/debug/stillmark-cli" read --json "$work/journey.case.json" >"$work/reading.json" || true
python3 .ci/journey.py check "$work/clicked" "$work/journey.case.json" "$work/reading.json" "$work/trace"
