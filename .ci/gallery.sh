#!/usr/bin/env bash
# Makes docs/gallery.md and its pictures anew. Needs Python with Pillow. Look at every picture before committing it.
set -euo pipefail
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-$PWD/target}
cargo build --locked --quiet --bin stillmark-cli
python3 tests/outside/gallery.py "$target/debug/stillmark-cli" sample-images/demonstration.case.json docs
