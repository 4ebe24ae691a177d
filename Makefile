# make demo | test | lint | score | bench. Each sees to its own set-up.

SHELL := /bin/bash
export PATH := $(HOME)/.cargo/bin:$(PATH)

# Development recordings with known truth and the script that grades a reader on them; used where they are.
RECORDINGS ?= ../shared/recordings
SCORE ?= ../shared/tools/score.py

.PHONY: demo test lint unit doc score bench program

demo:
	scripts/set-up.sh rust ffmpeg
	$(MAKE) --no-print-directory program
	scripts/demo.sh

# The tests proper come last, so that their summary is what one sees.
test: lint doc score unit

lint:
	scripts/set-up.sh rust
	cargo fmt --all --check
	cargo clippy --workspace --all-targets --locked -- -D warnings

unit:
	scripts/set-up.sh rust ffmpeg
	if cargo nextest --version >/dev/null 2>&1; then \
		cargo nextest run --workspace --locked --no-fail-fast; \
	else \
		cargo test --workspace --locked --no-fail-fast --lib --bins --tests; \
	fi

doc:
	scripts/set-up.sh rust ffmpeg
	cargo test --workspace --locked --doc

score:
	if [ -d "$(RECORDINGS)" ] && [ -f "$(SCORE)" ]; then \
		scripts/set-up.sh rust ffmpeg numpy && \
		$(MAKE) --no-print-directory program && \
		scripts/score.sh "$(RECORDINGS)" "$(SCORE)"; \
	else \
		echo "score: no recordings at $(RECORDINGS), not graded"; \
	fi

bench:
	scripts/set-up.sh rust ffmpeg venv
	$(MAKE) --no-print-directory program
	benches/speed.sh

program:
	cargo build --release --locked -p meltrange-cli
