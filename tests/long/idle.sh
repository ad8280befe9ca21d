#!/bin/sh
# Bytes that a daemon writes while nobody asks it anything, by /proc/PID/io: for ten minutes, or as many as the first
# argument says. The second is the program, the one of a debug build if none is named.
set -eu
cd "$(dirname "$0")/../.."
minutes="${1:-10}" program="${2:-target/debug/coilwright}"
folder="$(mktemp -d)"
"$program" serve --data "$folder/shop" --listen 127.0.0.1:0 >"$folder/out" 2>&1 &
daemon=$!
trap 'kill "$daemon" 2>/dev/null || true; rm -rf "$folder"' EXIT
sleep 10
head -n 1 "$folder/out"
written() { awk '/^(wchar|write_bytes)/ { print $1 $2 }' "/proc/$daemon/io" | tr '\n' ' '; }
before="$(written)"
sleep "$((minutes * 60))"
echo "before: $before after $minutes min: $(written)"
[ "$before" = "$(written)" ] || { echo "it wrote while idle"; exit 1; }
