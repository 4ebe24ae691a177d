#!/usr/bin/env bash
# 1,000,000 draws of a budget of ten inputs, on one thread and on all, beside numpy; prints Markdown.
set -euo pipefail
cd "$(dirname "$0")/.."
cargo build --quiet --release --locked -p meltrange-benches --bin monte_carlo
one=$(RAYON_NUM_THREADS=1 target/release/monte_carlo)
all=$(target/release/monte_carlo)
peer=$(.venv/bin/python benches/peer/monte_carlo.py)
python3 - "$one" "$all" "$peer" <<'PYTHON'
import json, os, sys
one, all_, peer = (json.loads(text) for text in sys.argv[1:])
print("\n| Monte Carlo, 1,000,000 draws, 10 inputs | fastest of 9 | median | times numpy (fastest) |")
print("|---|---|---|---|")
for name, found in (("one thread", one), (f"{os.cpu_count()} threads", all_), ("numpy", peer)):
    print(f"| {name} | {1e3 * found['fastest_s']:.0f} ms | {1e3 * found['median_s']:.0f} ms | {peer['fastest_s'] / found['fastest_s']:.1f} |")
PYTHON
