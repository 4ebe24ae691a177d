#!/usr/bin/env bash
# demo.sh [--port N] [--no-open]: a lab book of an evening practical with six unknowns, simulated and read
# the first time (about half a minute), then served until Ctrl-C.
set -euo pipefail
cd "$(dirname "$0")/.."
meltrange="${CARGO_TARGET_DIR:-target}/release/meltrange"
book=demo/practical

mkdir -p demo
"$meltrange" demo "$book"
exec "$meltrange" serve "$book" "$@"
