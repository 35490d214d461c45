#!/usr/bin/env bash
# Runs a command with the project's tools on PATH: tools/env.sh trunk build --release
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."

# A clone finds what another clone built, so the tools live outside the tree, by version.
export RUNGBOOK_CACHE="${XDG_CACHE_HOME:-$HOME/.cache}/rungbook"
export TRUNK_VERSION=0.21.14
# wasm-bindgen's tool and library speak one private format: the lock file says which version.
WASM_BINDGEN_VERSION="$(awk -F'"' '/^name = "wasm-bindgen"$/ { getline; print $2 }' Cargo.lock)"
export WASM_BINDGEN_VERSION
export SPLIT_VERSION=0.2.4
export SPLIT_HOME="$RUNGBOOK_CACHE/tools/wasm-split-$SPLIT_VERSION"
export TRUNK_HOME="$RUNGBOOK_CACHE/tools/trunk-$TRUNK_VERSION"
export WASM_BINDGEN_HOME="$RUNGBOOK_CACHE/tools/wasm-bindgen-$WASM_BINDGEN_VERSION"
export PATH="$TRUNK_HOME/bin:$SPLIT_HOME/bin:$WASM_BINDGEN_HOME/bin:$PWD/tests/node_modules/.bin:$PATH"

first_of() {
    local name
    for name; do command -v "$name" && return; done
    return 0
}
CHROMIUM="${CHROMIUM:-$(first_of chromium chromium-browser)}"
CHROMEDRIVER="${CHROMEDRIVER:-$(first_of chromedriver)}"
export CHROMIUM CHROMEDRIVER
# Rust's browser tests run in Chromium (webdriver.json holds its flags). The runner's own limits, 20 s
# for the tests and 5 s for the driver, are short for a busy machine.
export CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_RUNNER=wasm-bindgen-test-runner
export WASM_BINDGEN_TEST_TIMEOUT="${WASM_BINDGEN_TEST_TIMEOUT:-300}"
export WASM_BINDGEN_TEST_DRIVER_TIMEOUT="${WASM_BINDGEN_TEST_DRIVER_TIMEOUT:-30}"
# Leptos compiles each nested view to a type of its own; erased, the app is a twentieth smaller. The
# relocations are what tools/split.mjs cuts the program by.
export CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_RUSTFLAGS="--cfg erase_components -Clink-args=--emit-relocs"
# trunk 0.21 takes NO_COLOR for a flag and stops at NO_COLOR=1.
if [ -n "${NO_COLOR:-}" ]; then export NO_COLOR=true; fi

exec "$@"
