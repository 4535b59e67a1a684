#!/usr/bin/env bash
# Makes the pictures of the docs anew: the window with the demonstration and with a proposal, and the figure of two shots. Needs Xvfb,
# xdotool and ImageMagick; builds what it needs, in the profile that is named (debug, which the gate has built already; release
# takes many minutes more and looks the same). Run it after a change that is seen, and look at what it made.
set -euo pipefail
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-$PWD/target}
profile=${1:-debug}
flag=$([ "$profile" = release ] && echo --release || true)
echo "building the programs ($profile)"
cargo build --locked $flag --bin stillmark --bin stillmark-cli

. .ci/window.sh
display 1280x800
echo "the window with the demonstration"
# A copy, for what is done to it is kept beside it.
cp -r sample-images "$work/demonstration"
open_window "$target/$profile/stillmark" "$work/demonstration/demonstration.case.json"
# The small images below come one after the other.
at_rest
import -window root "$work/window.png"
convert "$work/window.png" -strip -define png:compression-level=9 docs/window.png

close_window

echo "the window with a proposal"
# A further lateral as it is proposed: the second of two shots, its marks taken away.
python3 tests/window/two_laterals.py "$work" proposal.case.json
open_window "$target/$profile/stillmark" "$work/proposal.case.json"
xdotool key --clearmodifiers Next
at_rest
import -window root "$work/proposal.png"
convert "$work/proposal.png" -strip -quality 85 docs/window-proposal.jpg
close_window

echo "the figure of two shots"
# A figure of two shots, as it stands in docs/figures.md.
"$target/$profile/stillmark-cli" figure sample-images/demonstration.case.json l4-right-lateral-stylet \
  l4-right-lateral-final --kind before_after --width double --letters --scale-bar --out "$work/figure.png"
convert "$work/figure.png" -resize 1200x -strip -quality 82 docs/figure-before-after.jpg
echo "docs/window.png, docs/window-proposal.jpg and docs/figure-before-after.jpg are new: look at them"
