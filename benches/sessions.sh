#!/usr/bin/env bash
# Session plans beside a general-purpose solver, instances from a fixed seed; prints Markdown.
# About 15 minutes: the solver has 20 s for each instance, ours 1 s and 10 s.
set -euo pipefail
cd "$(dirname "$0")/.."
cargo build --quiet --release --locked -p meltrange-benches --bin session_quality
instances=$(mktemp -d)
trap 'rm -rf "$instances"' EXIT
target/release/session_quality --dump "$instances"
.venv/bin/python benches/peer/session_cp_sat.py "$instances" --planner target/release/session_quality "$@"
