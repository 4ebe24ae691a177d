#!/usr/bin/env bash
# The first unknown of the demo practical: simulate its recording, read it, name the evidence page.
set -euo pipefail
cd "$(dirname "$0")/.."
meltrange="${CARGO_TARGET_DIR:-target}/release/meltrange"
place=demo/unknown-1

rm -rf "$place"
mkdir -p demo
echo "Simulating the recording (tests/scenes/demo_unknown_1.toml) ..."
"$meltrange" simulate tests/scenes/demo_unknown_1.toml --out "$place/recording" | head -n 1
echo
"$meltrange" read "$place/recording" --temperature "$place/recording/temperature.csv" --out "$place/evidence"
echo
echo "Open in a browser: $PWD/$place/evidence/evidence.html"
echo "What was simulated: $place/recording/truth.json"
