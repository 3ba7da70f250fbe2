#!/bin/sh
# Fails where a test tool asks more features of a shared crate than the command does: then
# `cargo test` would build that crate, and all that stand on it (polars too), a second time.
set -eu
tree() { cargo tree --locked --prefix none --no-dedupe --format '{p} {f}' --edges "$1" | LC_ALL=C sort -u; }
lists=$(mktemp -d)
trap 'rm -r "$lists"' EXIT
tree normal > "$lists/command"
tree normal,dev > "$lists/tests"
LC_ALL=C comm -23 "$lists/command" "$lists/tests" > "$lists/lost"
if [ -s "$lists/lost" ]; then
    echo 'built with other features for the tests (name the missing ones in Cargo.toml):'
    cat "$lists/lost"
    exit 1
fi
