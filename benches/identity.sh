#!/usr/bin/env bash
# Ranking of the whole library beside pandas and scipy, choice of the next test, a diagram; prints Markdown.
set -euo pipefail
cd "$(dirname "$0")/.."
cargo build --quiet --release --locked -p meltrange-benches --bin identity_speed
ours=$(target/release/identity_speed)
peer=$(.venv/bin/python benches/peer/identity.py)
python3 - "$ours" "$peer" <<'PYTHON'
import json, sys
ours, peer = (json.loads(text) for text in sys.argv[1:])
print(f"\n| {ours['substances']} substances | median of 9 | limit |")
print("|---|---|---|")
print(f"| ranking | {1e3 * ours['ranking_s']:.2f} ms | 3 ms |")
print(f"| the same with pandas and scipy | {1e3 * peer['ranking_s']:.0f} ms, {peer['ranking_s'] / ours['ranking_s']:.0f} times as long | 20 times |")
print(f"| next test over 50 candidates | {1e3 * ours['next_tests_s']:.1f} ms | 100 ms |")
print(f"| diagram of 400 points | {1e3 * ours['diagram_s']:.3f} ms | 1 ms |")
print(f"| unpacking the library, once | {1e3 * ours['unpacking_s']:.0f} ms | |")
PYTHON
