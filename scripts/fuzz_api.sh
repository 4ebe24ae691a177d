#!/usr/bin/env bash
# fuzz_api.sh: serve a simulated book and let schemathesis send what the interface's own description
# allows, and what it does not; then verify the book. FUZZ_EXAMPLES requests an operation (default 40).
# With "guarded" the book is served to people with accounts, and what is sent has a supervisor's token.
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

how="${1:-open}"
"$meltrange" --quiet demo "$place/book"
# What it leaves beside its report belongs to nobody.
cd "$place"
options=()
if [ "$how" = guarded ]; then
    options=(--guarded)
    "$meltrange" person invite "$place/book" "R. Amsel" --json >"$place/invitation"
fi
"$meltrange" serve "$place/book" --port 0 --no-open "${options[@]}" >"$place/out" &
server=$!
for _ in $(seq 100); do
    address="$(sed -n 's/.* is served at //p' "$place/out")"
    [ -z "$address" ] || break
    sleep 0.05
done
# Ids that are there: without them nothing behind them would be reached.
python3 - "$address" "$how" <<'END'
import http.cookiejar
import json
import sys
import urllib.request

address, how = sys.argv[1:]
headers = {}
browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar()))


def ask(path, body=None):
    data = None if body is None else json.dumps(body).encode()
    request = urllib.request.Request(address + "api/" + path, data, headers)
    with browser.open(request) as answer:
        return json.load(answer)


if how == "guarded":
    headers = {"Origin": address.rstrip("/"), "x-own-page": "1", "Content-Type": "application/json"}
    with open("invitation") as file:
        code = json.load(file)["code"]
    ask("invitations/accept", {"code": code, "passphrase": "four owls on a cold block"})
    made = ask("me/tokens", {"name": "fuzz", "days": 1})
    token = "Bearer " + made["secret"]
else:
    token = "none"
# Left out, it would be made up, and name somebody else than the token.
person = ask("people")["people"][0]["id"]
recording = next(row for row in ask("recordings")["rows"] if row["readings"])
ids = {
    "samples": ask("samples")["rows"][0]["id"],
    "recordings": recording["id"],
    "readings": ask("recordings/" + recording["id"])["readings"][0]["id"],
}
with open("schemathesis.toml", "w") as config:
    for room, found in ids.items():
        config.write(f'[[operations]]\ninclude-path-regex = "^/api/{room}/[{{]id[}}]"\n')
        config.write(f'parameters = {{ "path.id" = "{found}" }}\n')
for name, value in ("token", token), ("person", person):
    with open(name, "w") as file:
        file.write(value)
END

# Event streams do not end, so they are not sent here; tests/it/events.rs has them. Chance would not find an account elsewhere.
"$venv/bin/st" run "${address}openapi.json" \
    --header "x-person: $(cat person)" --header "Authorization: $(cat token)" --header "Origin: ${address%/}" \
    --exclude-path /api/events --exclude-path /api/sign-in/return \
    --checks not_a_server_error,status_code_conformance,content_type_conformance,response_schema_conformance \
    --max-examples "${FUZZ_EXAMPLES:-40}" \
    --phases examples,coverage,fuzzing,stateful \
    --generation-deterministic --request-timeout 30 --no-color
kill -TERM "$server"
wait "$server"
server=""
"$meltrange" book verify "$place/book"
