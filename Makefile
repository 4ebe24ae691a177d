# make demo | test | lint | score | bench | fuzz-api. Each sees to its own set-up.
# make demo ARGS="--port 9000 --no-open" passes these on to meltrange serve.

SHELL := /bin/bash
export PATH := $(CURDIR)/.node/node_modules/.bin:$(HOME)/.cargo/bin:$(PATH)

# Development recordings with known truth and the script that grades a reader on them; used where they are.
RECORDINGS ?= ../shared/recordings
SCORE ?= ../shared/tools/score.py

# What meltrange serve is told by make demo.
ARGS ?=

# What tests run whole: built like the tests themselves, so that what is large is built once.
TESTED := $(CURDIR)/target/debug/meltrange
score fuzz-api pages-e2e: export MELTRANGE_PROGRAM = $(TESTED)

.PHONY: demo test lint unit doc score cross-check bench fuzz-api program tested pages pages-check pages-e2e

demo:
	scripts/set-up.sh rust ffmpeg
	$(MAKE) --no-print-directory program
	scripts/demo.sh $(ARGS)

# The tests proper come last, so that their summary is what one sees.
test: pages-check pages lint doc score cross-check pages-e2e unit

lint:
	scripts/set-up.sh rust
	cargo fmt --all --check
	cargo clippy --workspace --all-targets --locked -- -D warnings

# Beside a PostgreSQL of their own. What is asked of every book is asked of shared ones, too; then all the rest,
# whose summary is what one sees.
unit:
	scripts/set-up.sh rust ffmpeg mosquitto fonts poppler postgres
	scripts/with-postgres.sh scripts/test.sh

doc:
	scripts/set-up.sh rust ffmpeg
	cargo test --workspace --locked --doc

score:
	if [ -d "$(RECORDINGS)" ] && [ -f "$(SCORE)" ]; then \
		scripts/set-up.sh rust ffmpeg numpy && \
		$(MAKE) --no-print-directory tested && \
		scripts/score.sh "$(RECORDINGS)" "$(SCORE)"; \
	else \
		echo "score: no recordings at $(RECORDINGS), not graded"; \
	fi

# Calibrations and budgets against a general package for uncertainty; a table of critical values integrated anew;
# probabilities of candidates against compilations that the
# library does not use; archives against a validator of RO-Crates and other readers of Parquet and calendars; a shared book
# with a store that others wrote; health, numbers and log lines with parsers of others, and workers that are killed.
cross-check:
	scripts/set-up.sh rust ffmpeg postgres gtc
	$(MAKE) --no-print-directory tested
	.venv-check/bin/python tests/cross_check/uncertainty.py $(TESTED)
	.venv-check/bin/python tests/cross_check/grubbs_pairs.py --check
	.venv-check/bin/python tests/cross_check/identification.py $(TESTED)
	.venv-check/bin/python tests/cross_check/archive.py $(TESTED)
	scripts/with-postgres.sh .venv-check/bin/python tests/cross_check/shared_book.py $(TESTED)
	scripts/with-postgres.sh .venv-check/bin/python tests/cross_check/operation.py $(TESTED)
	.venv-check/bin/python tests/cross_check/single_sign_on.py $(TESTED)

bench:
	scripts/set-up.sh rust ffmpeg venv
	$(MAKE) --no-print-directory program
	benches/speed.sh
	cargo run --release --locked -p meltrange-benches --bin book_speed
	cargo run --release --locked -p meltrange-benches --bin live_benches
	cargo run --release --locked -p meltrange-report --example report_speed
	benches/monte_carlo.sh
	cargo run --release --locked -p meltrange-benches --bin calibration_speed
	benches/sessions.sh
	benches/identity.sh
	benches/shared.sh
	[ -d target/bench-book ] || cargo run --release --locked -p meltrange-server --example large_book target/bench-book
	scripts/frame_speed.py target/bench-book

# What the description allows, and what it does not, sent to a served book.
fuzz-api:
	scripts/set-up.sh rust ffmpeg
	$(MAKE) --no-print-directory tested
	scripts/fuzz_api.sh
	scripts/fuzz_api.sh guarded

# The program carries its pages, so they are built first.
program: pages
	cargo build --release --locked -p meltrange-cli

# As tests have it; its pages are read from ui/dist.
tested: pages
	cargo build --workspace --locked --bins --examples

pages: ui/node_modules/.pages-built

# A stamp of its own: compiling the server without pages leaves a stand-in where the pages go.
ui/node_modules/.pages-built: ui/node_modules/.package-lock.json $(shell find ui/src ui/public -type f) ui/index.html ui/camera.html ui/openapi.json ui/vite.config.ts
	scripts/set-up.sh node
	cd ui && npm run --silent build
	touch $@

ui/node_modules/.package-lock.json: ui/package.json ui/package-lock.json
	scripts/set-up.sh node
	cd ui && PLAYWRIGHT_SKIP_BROWSER_DOWNLOAD=1 npm ci --silent --no-audit --no-fund
	touch $@

pages-check: ui/node_modules/.package-lock.json
	cd ui && npm run --silent check && npm test --silent

# The pages in a real browser, against the real program and a real book.
pages-e2e:
	scripts/set-up.sh rust ffmpeg node chromium
	$(MAKE) --no-print-directory tested
	cd ui && npm run --silent e2e
