# To be sourced: starts the built window under a virtual display of its own, and ends both with the script that
# sourced it. Needs Xvfb, xdotool and, for pictures, ImageMagick.
#
#   display WIDTHxHEIGHT      a virtual display of this size
#   open_window PROGRAM ARG…  the program with its layout traced to $trace, in the display's top-left corner, with the
#                             keyboard; waits until its first image is shown, or a moment where it shows none
#   mark_still PLACES CLICKED SECONDS
#                             on a still without a word about it: says that it is a lateral, shows it whole and clicks the
#                             places, with a pause of so many seconds; what of the still was clicked is added to CLICKED
#   at_rest                   waits until the program has nothing to do, at most two minutes
#   save_case FILE            saves the case under this name with the keyboard, and waits until it is there
#   close_window              ends the program that was opened last

server=""
work=$(mktemp -d)
trace=$work/trace
pids=()
app=""
window=""

finish() {
  for pid in "${pids[@]}"; do kill "$pid" 2>/dev/null || true; done
  rm -rf "$work"
}
trap finish EXIT

# A server may be slow to start on a busy machine, and one that does not start may do so the next time.
display() {
  local try
  for try in 1 2 3; do
    rm -f "$work/display"
    Xvfb -displayfd 3 -screen 0 "$1x24" -nolisten tcp 3>"$work/display" 2>"$work/xvfb.log" &
    server=$!
    pids+=("$server")
    for _ in $(seq 600); do
      if [ -s "$work/display" ]; then
        export DISPLAY=":$(tr -d '[:space:]' <"$work/display")"
        xdotool getmouselocation >/dev/null 2>&1 && break 2
      fi
      kill -0 "$server" 2>/dev/null || break
      sleep 0.1
    done
    echo "try $try: no virtual display"
    cat "$work/xvfb.log"
    kill "$server" 2>/dev/null || true
    [ "$try" -lt 3 ] || exit 1
    sleep 5
  done
  across=${1%x*} down=${1#*x}
}

# Neither a portal nor a dialog program is at hand, on any machine: paths are typed.
open_window() {
  rm -f "$trace"
  env PATH=/nonexistent XDG_DATA_HOME="$work" DBUS_SESSION_BUS_ADDRESS=unix:path=/nonexistent \
    LIBGL_ALWAYS_SOFTWARE=1 STILLMARK_TRACE_LAYOUT=1 STILLMARK_DATA_DIR="$work/program" "$@" 2>"$trace" &
  app=$!
  pids+=("$app")
  window=""
  local patience=300
  [ $# -gt 1 ] || patience=50
  for _ in $(seq $patience); do
    window=$(xdotool search --onlyvisible --name '^Stillmark' 2>/dev/null | tail -n 1 || true)
    [ -n "$window" ] && grep -q 'ready=true' "$trace" && break
    kill -0 "$app" || { echo "the window did not open"; cat "$trace"; exit 1; }
    sleep 0.1
  done
  [ -n "$window" ] || { echo "there is no window"; exit 1; }
  xdotool windowmove "$window" 0 0
  xdotool windowsize "$window" "$across" "$down"
  # Without a window manager nobody else gives the window the keyboard; it takes it once it is on the screen.
  for _ in $(seq 50); do
    xdotool windowfocus "$window" 2>/dev/null || true
    [ "$(xdotool getwindowfocus 2>/dev/null)" = "$window" ] && break
    sleep 0.2
  done
  sleep 1
}

# Fit is deterministic: the canvas and its map are written to standard error, in pixels of the window.
mark_still() {
  local key x y px py
  for key in e Escape f shift+c; do
    xdotool key --clearmodifiers "$key"
    sleep "$3"
  done
  while read -r x y; do
    read -r px py < <(python3 .ci/journey.py pixel "$trace" "$x" "$y")
    xdotool mousemove --window "$window" "$px" "$py"
    sleep "$3"
    xdotool click 1
    sleep "$3"
    python3 .ci/journey.py image "$trace" "$px" "$py" >>"$2"
  done <"$1"
}

# A thread that waits for a processor has something to do, however long it gets none: its state says so. So has the
# display, which the program waits for.
at_rest() {
  local quiet=0 before="" now
  for _ in $(seq 600); do
    sleep 0.2
    now=$(cat /proc/"$app"/task/*/stat /proc/"$server"/task/*/stat 2>/dev/null | sed 's/.*) //' | awk '{ wants += ($1 ~ /[RD]/); ticks += $12 + $13 } END { print wants ":" ticks }')
    if [ "$now" = "$before" ] && [ "${now%%:*}" = 0 ]; then quiet=$((quiet + 1)); else quiet=0; fi
    before=$now
    [ "$quiet" -lt 8 ] || return 0
  done
}

save_case() {
  xdotool key --clearmodifiers ctrl+s
  sleep 1.5
  xdotool key --clearmodifiers ctrl+a
  xdotool type --delay 20 "$1"
  xdotool key Return
  for _ in $(seq 100); do [ -s "$1" ] && return; sleep 0.1; done
  echo "the case was not saved"
  cat "$trace"
  import -window root "${TMPDIR:-/tmp}/save-failed.png" 2>/dev/null || true
  exit 1
}

close_window() {
  kill "$app" 2>/dev/null || true
  wait "$app" 2>/dev/null || true
}
