#!/usr/bin/env bash
# Fuzzes one target, guided by coverage, for so many seconds, on the stable compiler:
#   tests/fuzz/run.sh picture|case_file|readings_table [SECONDS]
# What it finds is written beside the corpus as crash-…, oom-… or timeout-…; give that file as a third argument to run it alone.
# Each input has 10 seconds and 2 GB. The corpus that comes with the project is read; what is new goes to target/fuzz.
set -euo pipefail
cd "$(dirname "$0")"
target=${1:?name a target: picture, case_file or readings_table}
seconds=${2:-60}
export CARGO_TARGET_DIR=${CARGO_TARGET_DIR:-$PWD/../../target/fuzz}
# LLVM's own pass counts edges and traces comparisons; both switches are stable.
export RUSTFLAGS="--cfg fuzzing -Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 \
-Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table \
-Cllvm-args=-sanitizer-coverage-trace-compares"
host=$(rustc -vV | sed -n 's/^host: //p')
cargo build --locked --release --target "$host" --bin "$target"
program=$CARGO_TARGET_DIR/$host/release/$target
if [ $# -ge 3 ]; then
  exec "$program" "$3"
fi
found=$CARGO_TARGET_DIR/corpus/$target
mkdir -p "$found"
"$program" -max_total_time="$seconds" -timeout=10 -rss_limit_mb=2048 -max_len=65536 -print_final_stats=1 \
  -artifact_prefix="$found/../" "$found" "corpus/$target"
