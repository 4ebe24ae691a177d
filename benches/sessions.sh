#!/usr/bin/env bash
# Session plans beside a general-purpose solver, instances from a fixed seed; prints Markdown.
# About 25 minutes: for each of 17 instances the solver has 20 s (less where it proves its plan), ours 1 s, 10 s and twice 30 s.
# Further arguments go to session_cp_sat.py, later ones before earlier: --seconds 60, --spare 2, --only 30x3, --long 10.
set -euo pipefail
cd "$(dirname "$0")/.."
cargo build --quiet --release --locked -p meltrange-benches --bin session_quality
instances=$(mktemp -d)
trap 'rm -rf "$instances"' EXIT
target/release/session_quality --dump "$instances"
.venv/bin/python benches/peer/session_cp_sat.py "$instances" --planner target/release/session_quality --seconds 20 "$@"
