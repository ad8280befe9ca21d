#!/bin/sh
# Builds and runs the comparison; see README.md. DISK names a folder on the disk to measure.
set -eu
cd "$(dirname "$0")"
cargo build --release --quiet
folder="$(mktemp -d "${DISK:-/var/tmp}/coilwright-databases.XXXXXX")"
server=""
clean() {
    [ -z "$server" ] || as_nobody "$bin/pg_ctl" -D "$folder/pg/data" -m fast -s stop || true
    rm -rf "$folder"
}
trap clean EXIT
# PostgreSQL does not run as root.
as_nobody() {
    if [ "$(id -u)" = 0 ]; then setpriv --reuid=nobody --regid=nogroup --clear-groups "$@"; else "$@"; fi
}
bin="$(ls -d /usr/lib/postgresql/*/bin 2>/dev/null | sort -V | tail -1)"
if [ -z "$bin" ]; then
    bin="$(dirname "$(readlink -f "$(command -v initdb 2>/dev/null)" 2>/dev/null)" 2>/dev/null || true)"
fi
if [ -x "$bin/initdb" ]; then
    chmod 755 "$folder"
    mkdir "$folder/pg"
    [ "$(id -u)" != 0 ] || chown nobody "$folder/pg"
    as_nobody "$bin/initdb" -D "$folder/pg/data" -U bench -A trust --no-sync >/dev/null
    as_nobody "$bin/pg_ctl" -D "$folder/pg/data" -s -w -l "$folder/pg/log" \
        -o "-c listen_addresses= -c unix_socket_directories=$folder/pg -c max_connections=100" start
    server="$folder/pg"
else
    echo "PostgreSQL is not installed and left out (Debian: apt-get install postgresql)" >&2
fi
"${CARGO_TARGET_DIR:-target}/release/databases" "$folder/work" $server
