#!/usr/bin/env bash
# score.sh RECORDINGS SCORE.py: grade the program on recordings with known truth.
set -euo pipefail
cd "$(dirname "$0")/.."
meltrange="$(realpath "${MELTRANGE_PROGRAM:-${CARGO_TARGET_DIR:-target}/release/meltrange}")"
result=$(mktemp --suffix=.json)
trap 'rm -f "$result"' EXIT

python=python3
"$python" -c 'import numpy' 2>/dev/null || python=/usr/bin/python3
"$python" "$2" "$1" --reader "$meltrange read {media} --temperature {csv} {offset} --json" --json "$result"
"$python" scripts/check_score.py "$result" "$1"
