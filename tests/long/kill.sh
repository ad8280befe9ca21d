#!/bin/sh
# A hundred times (or as often as the first argument says): sixteen clients write over HTTP, the daemon is killed with
# SIGKILL, every tenth time its index is deleted, and after each start the journal is compared with what was acknowledged.
# The same test as in tests/run, in a release build and longer.
set -eu
cd "$(dirname "$0")/../.."
KILLS="${1:-100}" exec cargo test --release --package coilwright --test it -- race::killed --nocapture
