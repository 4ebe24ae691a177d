#!/usr/bin/env bash
# shared.sh: a shared book under load, with many records, with more workers, and under kills; each with a database of its own.
set -euo pipefail
cd "$(dirname "$0")/.."
scripts/set-up.sh postgres gtc
cargo build --release --locked -p meltrange-benches --bin shared_live --bin shared_pages
# A new database with a place for recordings, and what is measured on it.
on_a_new_book() {
    scripts/with-postgres.sh bash -c '
        psql -Xqc "CREATE DATABASE department" "$MELTRANGE_TEST_POSTGRES/postgres"
        depot="$(mktemp -d)"
        trap "rm -rf $depot" EXIT
        target/release/meltrange book prepare "$MELTRANGE_TEST_POSTGRES/department" --recordings "file://$depot" >/dev/null
        "$@"
    ' -- "$@"
}
on_a_new_book bash -c 'target/release/shared_live "$MELTRANGE_TEST_POSTGRES/department" 60'
on_a_new_book bash -c 'target/release/shared_pages "$MELTRANGE_TEST_POSTGRES/department"'
scripts/with-postgres.sh python3 scripts/reread_speed.py target/release/meltrange
.venv-check/bin/python scripts/shared_kills.py target/release/meltrange 500
