#!/usr/bin/env bash
# set-up.sh NEED...: see to it that what a make target needs is there.
# NEED is rust, ffmpeg, mosquitto (the broker that tests speak to), node (with npm), fonts (open fonts from
# npm, which tests render displays with), poppler (tools that tests look at reports with), postgres, chromium, numpy (for grading), gtc (.venv-check with the
# packages that uncertainties, candidates and archives are cross-checked with) or venv (.venv with numpy and OpenCV, for benchmarks).
# Says nothing where all is there; installs Debian packages as root or through sudo without a
# password; otherwise names the packages and stops.
set -euo pipefail
cd "$(dirname "$0")/.."

install_packages() {
    if ! command -v apt-get >/dev/null; then
        echo "set-up: missing, and there is no apt-get here: $*. Install what corresponds to these Debian packages." >&2
        exit 1
    fi
    local as_root=()
    if [ "$(id -u)" != 0 ]; then
        if ! sudo -n true 2>/dev/null; then
            echo "set-up: missing: $*. Install with: sudo apt-get install $*" >&2
            exit 1
        fi
        as_root=(sudo -n)
    fi
    echo "set-up: installing $*"
    "${as_root[@]}" apt-get -q update
    "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -q -y --no-install-recommends "$@"
}

need_rust() {
    if ! command -v cargo >/dev/null; then
        cat >&2 <<'END'
set-up: Rust is missing. Install it with rustup, as yourself and without root:
    curl --proto '=https' --tlsv1.2 -sSf https://sh.rustup.rs | sh
(on a machine without curl: apt-get install curl) and run make again. rustup then fetches the
version that rust-toolchain.toml names.
END
        exit 1
    fi
    command -v cc >/dev/null || install_packages gcc libc6-dev
}

need_ffmpeg() {
    if ! command -v ffmpeg >/dev/null || ! command -v ffprobe >/dev/null; then
        install_packages ffmpeg
    fi
}

need_mosquitto() {
    # Debian puts it where not everybody's PATH leads.
    if ! PATH="$PATH:/usr/sbin:/usr/local/sbin" command -v mosquitto >/dev/null; then
        install_packages mosquitto
    fi
}

# The front end is built with Node of at least this version; Debian's own may be older.
node_is_new() {
    node -e 'const [a, b] = process.versions.node.split("."); process.exit(a > 20 || (a == 20 && b >= 19) ? 0 : 1)' 2>/dev/null
}

need_node() {
    export PATH="$PWD/.node/node_modules/.bin:$PATH"
    if node_is_new; then
        return
    fi
    command -v npm >/dev/null || install_packages nodejs npm
    # Its programs come from npm then, into .node (the Makefile looks there first).
    node_is_new || npm install --silent --no-save --prefix .node node@22
}

# The fonts that crates/display renders its test displays with; any npm installs them.
need_fonts() {
    local folder=crates/display/tests/fonts
    if [ "$folder/node_modules/.package-lock.json" -nt "$folder/package-lock.json" ]; then
        return
    fi
    command -v npm >/dev/null || need_node
    (cd "$folder" && npm ci --silent --no-audit --no-fund)
    touch "$folder/node_modules/.package-lock.json"
}

# Reports are looked at with other people's tools.
need_poppler() {
    if ! command -v pdftotext >/dev/null || ! command -v pdftoppm >/dev/null; then
        install_packages poppler-utils
    fi
}

need_postgres() {
    # Debian puts its programs where nobody's PATH leads.
    if ! PATH="$PATH:$(echo /usr/lib/postgresql/*/bin | tr ' ' ':')" command -v initdb >/dev/null; then
        install_packages postgresql
    fi
    if ! command -v psql >/dev/null || ! command -v pg_dump >/dev/null; then
        install_packages postgresql-client
    fi
}

need_chromium() {
    if ! command -v "${CHROMIUM:-/usr/bin/chromium}" >/dev/null; then
        install_packages chromium
    fi
}

need_numpy() {
    # Debian's own Python may stand behind another one on the PATH; either will do.
    for python in python3 /usr/bin/python3; do
        if "$python" -c 'import numpy' 2>/dev/null; then
            return
        fi
    done
    install_packages python3 python3-numpy
}

need_venv() {
    if .venv/bin/python -c 'import cv2, numpy, ortools, pandas, scipy' 2>/dev/null; then
        return
    fi
    # ensurepip is what Debian splits off into python3-venv.
    python3 -c 'import ensurepip, venv' 2>/dev/null || install_packages python3 python3-venv
    python3 -m venv --clear .venv
    .venv/bin/pip install --quiet --disable-pip-version-check -r benches/peer/requirements.txt
}

need_gtc() {
    if .venv-check/bin/python -c 'import GTC, boto3, chemicals, icalendar, moto.server, oidc_provider_mock, prometheus_client, pyarrow, requests, rocrate, rocrate_validator' 2>/dev/null; then
        return
    fi
    python3 -c 'import ensurepip, venv' 2>/dev/null || install_packages python3 python3-venv
    python3 -m venv --clear .venv-check
    .venv-check/bin/pip install --quiet --disable-pip-version-check -r tests/cross_check/requirements.txt
}

for need in "$@"; do
    case "$need" in
        rust | ffmpeg | mosquitto | node | fonts | poppler | postgres | chromium | gtc | numpy | venv) "need_$need" ;;
        *)
            echo "set-up: unknown need: $need" >&2
            exit 2
            ;;
    esac
done
