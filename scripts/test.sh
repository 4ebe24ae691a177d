#!/usr/bin/env bash
# test.sh: the tests proper, beside the PostgreSQL of scripts/with-postgres.sh. What is asked of every book is
# asked of shared books first.
set -euo pipefail
cd "$(dirname "$0")/.."

# Tests that ask the lab book and the server, and do not look into a book's folder where it would not be as usual.
# Runs of a bench at sixty times are left to the second round: they hang on the clock, not on the book.
any_book='(package(meltrange-labbook) & test(/^(crash|store|sign_offs|thermometers|verdicts|recordings)::/) - test(/^recordings::an_import_that/))
    + (package(meltrange-server) & kind(test) & test(/^(archives|calibrations|determinations|events|identity|imports|past_results|readings|recordings|reports|samples|thermometers|verdicts)::/))'

if cargo nextest --version >/dev/null 2>&1; then
    failed=0
    MELTRANGE_TEST_BOOKS=shared cargo nextest run --workspace --locked --no-fail-fast -E "$any_book" || failed=1
    cargo nextest run --workspace --locked --no-fail-fast || failed=1
    exit "$failed"
else
    for which in store:: sign_offs:: thermometers:: verdicts:: readings:: samples::; do
        MELTRANGE_TEST_BOOKS=shared cargo test --workspace --locked --test it -- "$which"
    done
    cargo test --workspace --locked --no-fail-fast --lib --bins --tests
fi
