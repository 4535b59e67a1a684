#!/usr/bin/env bash
# The JSON Schemas in docs against what the command line reads and writes, by jsonschema and pycocotools from
# PyPI; also the readers of docs/data.md. Skips, and says so, where that cannot be had.
set -euo pipefail
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-$PWD/target}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
if ! python3 -m venv "$work/venv" >"$work/venv.log" 2>&1 ||
  ! "$work/venv/bin/pip" install --quiet --disable-pip-version-check jsonschema==4.25.1 pycocotools==2.0.11 >"$work/pip.log" 2>&1; then
  echo "skipped: the Python packages cannot be installed here"
  exit 0
fi
cargo build --locked --quiet --bin stillmark-cli
mkdir "$work/out"
"$work/venv/bin/python" tests/outside/schemas.py "$target/debug/stillmark-cli" . "$work/out"
