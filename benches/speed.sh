#!/usr/bin/env bash
# Measure `meltrange read` against plain decoding and against an OpenCV script; prints Markdown.
# ROUNDS (default 3) is how often everything is timed; medians are printed.
set -euo pipefail
cd "$(dirname "$0")/.."
exec .venv/bin/python benches/speed.py
