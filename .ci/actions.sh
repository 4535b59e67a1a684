#!/usr/bin/env bash
# Counts the actions of the usual work in the real window, at 1280x800 and 1920x1080 or at the sizes that are named:
# tests/window/actions.py says how. Needs Xvfb and xdotool; builds what it needs.
set -euo pipefail
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-$PWD/target}
cargo build --locked --quiet --bin stillmark
. .ci/window.sh
# A copy, for what is done to it is saved.
cp -r sample-images "$work/demonstration"
rm -f "$work"/demonstration/*autosave*
case_file=$work/demonstration/demonstration.case.json

# Stills that nobody has said anything of: one, and nine of one size.
cp sample-images/images/l4-right-lateral-final.png "$work/still.png"
mkdir "$work/nine"
for n in 1 2 3 4 5 6 7 8 9; do cp sample-images/images/l4-right-lateral-final.png "$work/nine/still-$n.png"; done

# Two laterals of one body, the later one without marks.
mkdir "$work/images"
cp sample-images/images/l4-right-lateral-stylet.png sample-images/images/l4-right-lateral-final.png "$work/images"
python3 - "$case_file" "$work/two.case.json" <<'MAKE'
import json, sys
with open(sys.argv[1]) as text:
    case = json.load(text)
case["shots"] = [s for s in case["shots"] if s["id"] in ("l4-right-lateral-stylet", "l4-right-lateral-final")]
case["shots"].sort(key=lambda s: s["id"].endswith("final"))
case["shots"][1]["marks"] = {}
with open(sys.argv[2], "w") as text:
    json.dump(case, text)
MAKE

# Ten laterals and ten APs of one simulated body, in two positions of the C-arm, under names that say nothing.
cargo build --locked --quiet --bin stillmark-cli
mkdir "$work/twenty"
for view in lateral ap; do
  for angle in 0.6 -1.2; do
    "$target/debug/stillmark-cli" phantom --seed 77 --level L4 --side right --view "$view" --turn "$angle" --tilt "$angle" \
      --out "$work/made/$view$angle" >"$work/said"
  done
done
python3 - "$work" <<'MAKE'
import glob, json, os, shutil, sys
work = sys.argv[1]
truth = []
for file in sorted(glob.glob(f"{work}/made/*/*.case.json"), key=lambda file: ("/ap" in file, file)):
    with open(file) as text:
        for shot in json.load(text)["shots"]:
            still = f"{work}/twenty/still-{len(truth) + 1:02}.png"
            shutil.copy(os.path.join(os.path.dirname(file), shot["image"]), still)
            os.utime(still, (1_700_000_000 + 60 * len(truth),) * 2)
            truth.append({key: shot[key] for key in ("view", "stage", "marks")})
with open(f"{work}/twenty.json", "w") as text:
    json.dump(truth, text)
MAKE

status=0
count() {
  APP=$app SERVER=$server TRACE=$trace WINDOW=$window python3 tests/window/actions.py "$1" "$work" "$case_file" "$2" || status=1
}
# Each is begun as by someone new: what was set before, such as that nothing is proposed, does not go on.
begin() {
  rm -rf "$work/program"
  open_window "$target/debug/stillmark" "$1"
}
[ $# -gt 0 ] || set -- 1280x800 1920x1080
for size in "$@"; do
  # Share of the window that is to be image.
  [ "${size%x*}" -ge 1900 ] && least=0.6 || least=0.5
  echo "== $size"
  display "$size"
  begin "$work/still.png"
  count first "$least"
  close_window
  begin "$work/still.png"
  count proposed "$least"
  close_window
  begin "$work/nine"
  count scales "$least"
  close_window
  begin "$work/two.case.json"
  count further "$least"
  close_window
  begin "$case_file"
  sleep 3
  count read "$least"
  close_window
  for how in twenty twenty-by-hand; do
    begin "$work/twenty"
    sleep 3
    count "$how" "$least"
    close_window
  done
done
exit $status
