#!/usr/bin/env bash
# Tries the package for Windows under wine: the command line against the one of this system (.ci/wine.py), then the window
# under a virtual display: open, mark, save, autosave twice, end it by force, restore, drop a file.
#
#   .ci/wine.sh PACKAGE.zip CLI FOLDER [DICOM_FOLDER…]
#
# CLI is this system's stillmark-cli of the same commit; FOLDER gets what was said, and pictures of the window. Needs wine,
# Xvfb, xdotool, ImageMagick, python3-xlib, and for an old wine a C compiler for Windows. Not part of .ci/run, which may run
# where these cannot be had.
set -euo pipefail
package=$(realpath "$1") cli=$(realpath "$2") to=$3
shift 3
cd "$(dirname "$0")/.."
mkdir -p "$to"
to=$(realpath "$to")
wine=$(command -v wine64 || command -v /usr/lib/wine/wine64 || command -v wine) || {
  apt-get update -qq
  DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends wine64 xvfb xdotool imagemagick python3-xlib >/dev/null
  wine=/usr/lib/wine/wine64
}
. .ci/window.sh
python=$(for p in /usr/bin/python3 python3; do "$p" -c 'import Xlib' 2>/dev/null && echo "$p" && break; done)
export WINEPREFIX=$work/prefix WINEDEBUG=-all WINEDLLOVERRIDES="mscoree,mshtml=" LIBGL_ALWAYS_SOFTWARE=1
say() { echo "== $*"; }
# One server for everything that runs: without it each program would start one and wait for it.
wineserver=$(command -v wineserver || ls /usr/lib/wine/wineserver64 /usr/lib/wine/wineserver 2>/dev/null | head -n 1)
leave() {
  "$wineserver" -k || true
  finish
}
trap leave EXIT
mkdir -p "$WINEPREFIX"
"$wineserver" -p

say "wine: $("$wine" --version)"
display 1280x800
"$wine" wineboot --init >"$to/wineboot.log" 2>&1
python3 -m zipfile -e "$package" "$work"
folder=$(find "$work" -maxdepth 1 -name 'stillmark-*-windows-*' | head -n 1)
# An older wine lacks a library that Windows has.
if ! "$wine" "$folder/stillmark-cli.exe" --version >/dev/null 2>&1; then
  x86_64-w64-mingw32-gcc -shared -o "$folder/bcryptprimitives.dll" .ci/windows/bcryptprimitives.c -ladvapi32
  echo "with a stand-in for bcryptprimitives.dll, which this wine lacks"
fi

say "the command line"
compared=0
python3 .ci/wine.py "$cli" "$wine" "$folder/stillmark-cli.exe" "$work/compared" "$@" | tee "$to/compared.txt" || compared=1

say "the window"
mine=$work/mine
mkdir "$mine"
cp sample-images/images/l4-right-lateral-final.png "$mine/still.png"
cp sample-images/images/l4-right-lateral-stylet.png "$mine/other.png"
python3 .ci/journey.py places sample-images/demonstration.case.json l4-right-lateral-final >"$work/places"
windows() { echo "Z:${1//\//\\}"; }
picture() { import -window root "$to/$1.png"; }
autosaves() { find "$mine" -name '*.autosave-*.json' | sort; }
marks() { # CASE: how many points are marked in it
  python3 -c 'import json, sys
print(sum(len(m) for s in json.load(open(sys.argv[1]))["shots"] for m in s["marks"].values() if isinstance(m, list)))' "$1"
}
until_true() { # SECONDS COMMAND…
  local n=$(($1 * 5))
  shift
  for _ in $(seq $n); do "$@" && return; sleep 0.2; done
  echo "did not come true: $*"
  picture failed
  tail -n 5 "$trace"
  exit 1
}
key() { xdotool key --clearmodifiers "$@"; sleep 0.7; }
start() { # PATH…
  open_window PATH="$PATH" STILLMARK_DATA_DIR="$(windows "$work/kept")" "$wine" "$folder/stillmark.exe" "$@"
}
# What is told about the layout comes to this file, as on every system.
start "$(windows "$mine/still.png")"
picture opened
mark_still "$work/places" "$work/clicked" 0.7
picture marked
echo "opened and marked: $(wc -l <"$work/clicked") places"

xdotool key --clearmodifiers ctrl+s
sleep 3
picture dialog
# The system's own dialog has the keyboard, or it is given it.
dialog=$(xdotool search --onlyvisible --name '^Save' 2>/dev/null | tail -n 1 || true)
[ -z "$dialog" ] || xdotool windowfocus "$dialog" || true
sleep 0.5
xdotool key Home shift+End
xdotool type --delay 40 "$(windows "$mine/journey.case.json")"
key Return
until_true 20 test -s "$mine/journey.case.json"
[ -z "$dialog" ] || xdotool windowfocus "$window" || true
sleep 1
picture saved
"$cli" read --json "$mine/journey.case.json" >"$work/reading.json" || true
python3 .ci/journey.py check "$work/clicked" "$mine/journey.case.json" "$work/reading.json" "$trace"
saved=$(marks "$mine/journey.case.json")
echo "saved: $saved points"

# Every step that is taken back is a change that is kept, over the one kept before.
key ctrl+z
until_true 10 bash -c "[ -n \"\$(find '$mine' -name '*.autosave-*.json')\" ]"
first=$(sha256sum "$(autosaves)")
key ctrl+z
sleep 1.5
second=$(sha256sum "$(autosaves)")
[ "$first" != "$second" ] || { echo "the second autosave was not written"; picture failed; exit 1; }
key ctrl+z
sleep 1.5
[ "$(autosaves | wc -l)" = 1 ] || { echo "there should be one autosave:"; ls -la "$mine"; exit 1; }
kept=$(marks "$(autosaves)")
picture changed
echo "autosaved three times into $(basename "$(autosaves)"): $kept points"
[ "$kept" -lt "$saved" ]

kill -9 "$app"
wait "$app" 2>/dev/null || true
sleep 2
echo "ended by force; left: $(ls -A "$mine" | tr '\n' ' ')"
[ "$(marks "$mine/journey.case.json")" = "$saved" ]

start "$(windows "$mine/journey.case.json")"
sleep 2
picture offered
key Return
sleep 2
picture restored
key ctrl+s
until_true 10 bash -c "[ -z \"\$(find '$mine' -name '*.autosave-*.json')\" ]"
[ "$(marks "$mine/journey.case.json")" = "$kept" ] || { echo "what was saved is not what was restored"; exit 1; }
echo "restored and saved: $kept points, no autosave left: $(ls -A "$mine" | tr '\n' ' ')"

"$python" .ci/drop.py "$window" 640 400 "$mine/other.png"
sleep 3
picture dropped
key ctrl+s
sleep 2
python3 - "$mine/journey.case.json" <<'SHOTS'
import json, sys
images = [shot["image"] for shot in json.load(open(sys.argv[1]))["shots"]]
assert images == ["still.png", "other.png"] or sorted(images) == ["other.png", "still.png"], images
print("dropped and saved:", ", ".join(images))
SHOTS
picture last
close_window
[ $compared = 0 ]
say "done"
