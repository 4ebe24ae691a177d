#!/usr/bin/env bash
# fuzz_api.sh: serve a fresh book and let schemathesis send what the interface's own description
# allows, and what it does not; then verify the book. FUZZ_EXAMPLES requests an operation (default 40).
set -euo pipefail
cd "$(dirname "$0")/.."
target="${CARGO_TARGET_DIR:-target}"
meltrange="${MELTRANGE_PROGRAM:-$target/release/meltrange}"
venv="$target/fuzz-venv"
place="$(mktemp -d)"
server=""
clean_up() {
    [ -z "$server" ] || kill "$server" 2>/dev/null || true
    rm -rf "$place"
}
trap clean_up EXIT

if ! "$venv/bin/st" --version >/dev/null 2>&1; then
    python3 -m venv --clear "$venv"
    "$venv/bin/pip" install --quiet --disable-pip-version-check schemathesis==4.32.5
fi

"$meltrange" book new "$place/book" --by "R. Amsel" >/dev/null
"$meltrange" serve "$place/book" --port 0 --no-open >"$place/out" &
server=$!
for _ in $(seq 100); do
    address="$(sed -n 's/.* is served at //p' "$place/out")"
    [ -z "$address" ] || break
    sleep 0.05
done
person="$(curl -sf "${address}api/people" | python3 -c 'import json, sys; print(json.load(sys.stdin)["people"][0]["id"])')"

# Event streams do not end, so they are not sent here; tests/it/events.rs has them.
"$venv/bin/st" run "${address}openapi.json" \
    --header "x-person: $person" \
    --exclude-path /api/events \
    --checks not_a_server_error,status_code_conformance,content_type_conformance,response_schema_conformance \
    --max-examples "${FUZZ_EXAMPLES:-40}" \
    --phases examples,coverage,fuzzing,stateful \
    --generation-deterministic --request-timeout 30 --no-color
kill -TERM "$server"
wait "$server"
server=""
"$meltrange" book verify "$place/book"
