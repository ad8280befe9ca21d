#!/bin/sh
# The store's long runs, in a release build: a thousand kills under 64 writers (uptime 5 to 85 ms by the throw of a seeded
# die, every tenth time without an index), two thousand single bits flipped. The same tests as in tests/run, longer; CYCLES,
# WRITERS, FLIPS and SEED may be set. Then, in DISK (a folder on the disk, /var/tmp if none is named): bytes an entry that
# go to the device, alone and with 16 under way at once; open time and peak memory at 10^4, 10^5 and 10^6 entries.
set -eu
cd "$(dirname "$0")/../.."
export CYCLES="${CYCLES:-1000}" WRITERS="${WRITERS:-64}" FLIPS="${FLIPS:-2000}"
test_it() { cargo test --release --package coilwright-store --test it -- --exact "$1" --nocapture; }
test_it faults::a_bit_flipped_anywhere_is_detected_or_harmless
test_it kill::killing_the_writer_loses_nothing_acknowledged
history() { cargo run --quiet --release --package coilwright-store --example history -- "$@"; }
folder="$(mktemp -d "${DISK:-/var/tmp}/coilwright-long.XXXXXX")"
trap 'rm -rf "$folder"' EXIT
for writers in 1 16; do
    history fill "$folder/bytes-$writers" 10000 "$writers"
done
for entries in 10000 100000 1000000; do
    history fill "$folder/$entries" "$entries"
    history open "$folder/$entries"
    rm -r "$folder/$entries/index"
    echo "without its index:"
    history open "$folder/$entries"
done
