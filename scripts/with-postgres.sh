#!/usr/bin/env bash
# with-postgres.sh COMMAND...: run it beside a throw-away PostgreSQL of its own, as MELTRANGE_TEST_POSTGRES says
# (postgres://meltrange@127.0.0.1:PORT), which ends with it. The database runs as a user without rights.
set -euo pipefail
export PATH="$PATH:$(ls -d /usr/lib/postgresql/*/bin 2>/dev/null | sort -V | tail -n 1)"

place="$(mktemp -d)"
as=()
if [ "$(id -u)" = 0 ]; then
    nobody="$(id -u postgres 2>/dev/null || id -u nobody)"
    as=(setpriv "--reuid=$nobody" "--regid=$(id -g "$nobody")" --clear-groups env "HOME=$place")
    chown "$nobody" "$place"
fi
chmod 755 "$place"
clean_up() {
    (cd "$place" && "${as[@]}" pg_ctl -D "$place/data" -m immediate stop >/dev/null 2>&1) || true
    rm -rf "$place"
}
trap clean_up EXIT

port="$(python3 -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')"
cd "$place"
"${as[@]}" initdb -D "$place/data" -U meltrange --auth=trust --encoding=UTF8 --locale=C.UTF-8 --no-sync >"$place/initdb.log"
# What is tested is what the program does, not that the disk is flushed: -F.
"${as[@]}" pg_ctl -D "$place/data" -l "$place/postgres.log" -w -t 30 \
    -o "-c listen_addresses=127.0.0.1 -p $port -k $place -F -c max_connections=300" start >/dev/null
cd - >/dev/null
export MELTRANGE_TEST_POSTGRES="postgres://meltrange@127.0.0.1:$port"
mkdir "$place/local"
export MELTRANGE_LOCAL="$place/local"
"$@"
