#!/usr/bin/env bash
# Images by the real clipboard and by a real drop: another program owns the clipboard (xclip) or drags files by XDND
# (.ci/drop.py), and the built window takes them in with Ctrl V or as they fall. Each input of tests/window/inputs.py adds as
# many shots as it says, those that are no image add none. Needs Xvfb, xdotool, xclip,
# python3-xlib, NumPy, Pillow and pydicom; builds what it needs.
set -euo pipefail
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-$PWD/target}
[ -n "${STILLMARK_BUILT:-}" ] || cargo build --locked --quiet --bin stillmark
python=${PYTHON:-python3}
xlib=python3
"$xlib" -c 'import Xlib' 2>/dev/null || xlib=/usr/bin/python3

. .ci/window.sh
display 1280x800

mkdir "$work/inputs" "$work/case"
"$python" tests/window/inputs.py make "$work/inputs"
cp sample-images/images/l4-right-lateral-final.png "$work/case/still.png"
open_window "$target/debug/stillmark" "$work/case/still.png"
case_file=$work/case/inputs.case.json
for key in e Escape; do xdotool key --clearmodifiers "$key"; sleep 0.4; done
save_case "$case_file"

# How many shots the case has once it is saved again; waits until there are as many as expected, or a moment.
shots_now() {
  local now="" try
  for try in $(seq 30); do
    xdotool windowfocus "$window" 2>/dev/null || true
    xdotool key --clearmodifiers Escape
    sleep 0.2
    xdotool key --clearmodifiers ctrl+s
    sleep 0.5
    now=$("$python" tests/window/inputs.py shots "$case_file")
    # What must add nothing is given a moment to go wrong.
    if [ "$now" = "$1" ] && { [ "$2" != 0 ] || [ "$try" -ge 3 ]; }; then break; fi
  done
  echo "$now"
}

have=$("$python" tests/window/inputs.py shots "$case_file")
tried=0 wrong=0 pasted=0 dropped=0
while IFS=$'\t' read -r way name adds; do
  case $way in
    paste | text)
      kind=image/png
      [ "$way" = paste ] || kind=UTF8_STRING
      xclip -selection clipboard -t "$kind" -i "$work/inputs/$name"
      sleep 0.3
      xdotool key --clearmodifiers ctrl+v
      pasted=$((pasted + 1))
      ;;
    drop)
      "$xlib" .ci/drop.py "$window" 600 400 "$work/inputs/$name" || { echo "$name: the drop was not taken"; wrong=$((wrong + 1)); }
      dropped=$((dropped + 1))
      ;;
  esac
  sleep 0.5
  now=$(shots_now $((have + adds)) "$adds")
  tried=$((tried + 1))
  if [ "$now" != $((have + adds)) ]; then
    echo "$way $name: $((now - have)) shots were added, $adds expected"
    wrong=$((wrong + 1))
  fi
  kill -0 "$app" 2>/dev/null || { ended=0; wait "$app" || ended=$?; echo "$name: the window ended with $ended"; grep -v "^canvas" "$trace" || true; exit 1; }
  have=$now
done <"$work/inputs/list"

echo "$tried inputs, $pasted by the clipboard and $dropped dropped, $wrong wrong; $have shots in the case"
[ "$wrong" = 0 ]
