#!/usr/bin/env bash
# fuzz_api.sh: serve a simulated book and let schemathesis send what the interface's own description
# allows, and what it does not; then verify the book. FUZZ_EXAMPLES requests an operation (default 40).
set -euo pipefail
cd "$(dirname "$0")/.."
target="$(realpath "${CARGO_TARGET_DIR:-target}")"
meltrange="$(realpath "${MELTRANGE_PROGRAM:-$target/release/meltrange}")"
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

"$meltrange" --quiet demo "$place/book"
# What it leaves beside its report belongs to nobody.
cd "$place"
"$meltrange" serve "$place/book" --port 0 --no-open >"$place/out" &
server=$!
for _ in $(seq 100); do
    address="$(sed -n 's/.* is served at //p' "$place/out")"
    [ -z "$address" ] || break
    sleep 0.05
done
# Ids that are there: without them nothing behind them would be reached.
python3 - "$address" <<'END'
import json
import sys
import urllib.request


def get(path):
    with urllib.request.urlopen(sys.argv[1] + "api/" + path) as answer:
        return json.load(answer)


recording = next(row for row in get("recordings")["rows"] if row["readings"])
ids = {
    "samples": get("samples")["rows"][0]["id"],
    "recordings": recording["id"],
    "readings": get("recordings/" + recording["id"])["readings"][0]["id"],
}
with open("schemathesis.toml", "w") as config:
    for room, found in ids.items():
        config.write(f'[[operations]]\ninclude-path-regex = "^/api/{room}/[{{]id[}}]"\n')
        config.write(f'parameters = {{ "path.id" = "{found}" }}\n')
with open("person", "w") as person:
    person.write(get("people")["people"][0]["id"])
END

# Event streams do not end, so they are not sent here; tests/it/events.rs has them.
"$venv/bin/st" run "${address}openapi.json" \
    --header "x-person: $(cat person)" \
    --exclude-path /api/events \
    --checks not_a_server_error,status_code_conformance,content_type_conformance,response_schema_conformance \
    --max-examples "${FUZZ_EXAMPLES:-40}" \
    --phases examples,coverage,fuzzing,stateful \
    --generation-deterministic --request-timeout 30 --no-color
kill -TERM "$server"
wait "$server"
server=""
"$meltrange" book verify "$place/book"
