#!/bin/sh
# A shop on a small tmpfs that fills up (needs root to mount it): writing is refused with a plain error, reading goes on, a
# kill and a restart on the full disk work, and writing goes on by itself when there is room. The first argument is the
# program, the one of a debug build if none is named.
set -eu
cd "$(dirname "$0")/../.."
program="$(realpath "${1:-target/debug/coilwright}")"
disk="$(mktemp -d)"
mount -t tmpfs -o size=8m tmpfs "$disk"
trap 'kill -9 "$daemon" 2>/dev/null || true; sleep 1; umount "$disk"; rmdir "$disk"' EXIT
starts() {
    "$program" serve --data "$disk/shop" --listen 127.0.0.1:0 >"$disk.out" 2>&1 &
    daemon=$!
    for _ in $(seq 100); do
        COILWRIGHT_URL="$(grep -om1 'http://[0-9.:]*' "$disk.out" || true)"
        [ -n "$COILWRIGHT_URL" ] && break
        sleep 0.1
    done
    [ -n "$COILWRIGHT_URL" ] || { cat "$disk.out"; echo "it did not start"; exit 1; }
    export COILWRIGHT_URL
}
receive() { "$program" spool receive cu-awg30-single --gross-g 512.4 --tare-g '97 g' --token-file "$disk/shop/token"; }
spools() { "$program" shop status --json | grep -o '"spools": *[0-9]*' | grep -o '[0-9]*$'; }

starts
receive >/dev/null
dd if=/dev/zero of="$disk/filler" bs=64k 2>/dev/null || true
kept=1
while receive >/dev/null 2>"$disk.refusal"; do
    kept=$((kept + 1))
    [ "$kept" -lt 5000 ] || { echo "it never filled"; exit 1; }
done
grep -q "disk is full" "$disk.refusal" || { cat "$disk.refusal"; exit 1; }
[ "$(spools)" = "$kept" ] || { echo "$(spools) spools, $kept acknowledged"; exit 1; }
kill -9 "$daemon" && wait "$daemon" 2>/dev/null || true
starts
[ "$(spools)" = "$kept" ] || { echo "after the restart $(spools) spools, $kept acknowledged"; exit 1; }
rm "$disk/filler"
receive >/dev/null
[ "$(spools)" = "$((kept + 1))" ]
"$program" journal verify >/dev/null
echo "$kept kept until full, refused in words, all there after a kill and a restart on the full disk, written on with room"
