#!/usr/bin/env bash
# Brings what the build needs (setup.sh app) or that and what the tests need (setup.sh all).
# Run it through tools/env.sh. A second run finds everything in place and takes a second or two.
set -euo pipefail
: "${RUNGBOOK_CACHE:?run this as tools/env.sh tools/setup.sh all}"

steps=(rust node_packages crates wasm_bindgen splitter trunk_tool)
if [ "${1:-all}" = all ]; then steps+=(rust_checks browser); fi
step=0

say() { printf '[%d/%d] %s\n' "$step" "${#steps[@]}" "$*"; }
stop() {
    printf '\nSet-up stopped: %s\n' "$*" >&2
    exit 1
}
# Whether all of these commands are there.
has() {
    local name
    for name; do command -v "$name" >/dev/null 2>&1 || return 1; done
}
# cargo's progress bar suits a terminal; a log gets the headings alone.
[ -t 2 ] || export CARGO_TERM_QUIET=true

rust() {
    has cargo rustc || stop "there is no Rust here. This line installs it (then open a new shell):
    curl --proto '=https' --tlsv1.2 -sSf https://sh.rustup.rs | sh"
    has cc || stop "there is no C compiler, and Rust links with one. On Debian: apt-get install build-essential"
    local libdir
    libdir="$(rustc --print target-libdir --target wasm32-unknown-unknown)"
    if [ -d "$libdir" ]; then
        say "$(rustc --version): ready, with wasm32-unknown-unknown"
        return
    fi
    say "$(rustc --version): adding the target wasm32-unknown-unknown"
    has rustup || stop "this Rust has no wasm32-unknown-unknown and no rustup to add it. Install Rust with rustup, or your system's package of that target."
    rustup target add wasm32-unknown-unknown
}

rust_checks() {
    if cargo fmt --version >/dev/null 2>&1 && cargo clippy --version >/dev/null 2>&1; then
        say "rustfmt and clippy: ready"
        return
    fi
    say "rustfmt and clippy: adding"
    has rustup || stop "rustfmt or clippy is missing, and there is no rustup to add it."
    rustup component add rustfmt clippy
}

# The packages live in the cache under their lock file's hash; tests/node_modules is a link to them,
# since a JavaScript import looks nowhere else.
node_packages() {
    has node npm || stop "there is no Node.js with npm here. Install Node.js 20 or later."
    [ "$(node -p 'process.versions.node.split(".")[0]')" -ge 20 ] || stop "Node.js $(node --version) is too old: 20 or later is needed."
    local home new
    home="$RUNGBOOK_CACHE/node-$(git hash-object tests/package-lock.json)"
    if [ ! -d "$home" ]; then
        say "npm packages: installing, a few seconds"
        new="$(mktemp -d "$home.XXXXXX")"
        cp tests/package.json tests/package-lock.json tests/.npmrc "$new"
        # No package of ours needs its install script, and none may fetch a browser.
        if ! npm ci --prefix "$new" --ignore-scripts; then
            rm -rf "$new"
            stop "npm could not install the packages of tests/package-lock.json (see above)."
        fi
        mv "$new" "$home"
    else
        say "npm packages: ready"
    fi
    if [ -d tests/node_modules ] && [ ! -L tests/node_modules ]; then
        stop "tests/node_modules is a folder of your own. Remove it, and the set-up links the cached one."
    fi
    ln -sfn "$home/node_modules" tests/node_modules
}

crates() {
    say "crates of Cargo.lock: fetching what is missing"
    cargo fetch --locked
}

wasm_bindgen() {
    local version="$WASM_BINDGEN_VERSION"
    if [ "$(wasm-bindgen --version 2>/dev/null)" = "wasm-bindgen $version" ] && has wasm-bindgen-test-runner; then
        say "wasm-bindgen $version: ready"
        return
    fi
    say "wasm-bindgen $version: building, about 3 minutes the first time"
    CARGO_PROFILE_RELEASE_OPT_LEVEL=1 \
        cargo install --root "$WASM_BINDGEN_HOME" "wasm-bindgen-cli@$version"
}

splitter() {
    # The tool does not tell its version; its folder does.
    if has wasm-split-cli; then
        say "wasm-split-cli $SPLIT_VERSION: ready"
        return
    fi
    say "wasm-split-cli $SPLIT_VERSION: building, about a minute the first time"
    CARGO_PROFILE_RELEASE_OPT_LEVEL=1 \
        cargo install --locked --root "$SPLIT_HOME" --features build-binary "wasm_split_cli_support@$SPLIT_VERSION"
}

trunk_tool() {
    if [ "$(trunk --version 2>/dev/null)" = "trunk $TRUNK_VERSION" ]; then
        say "trunk $TRUNK_VERSION: ready"
        return
    fi
    say "trunk $TRUNK_VERSION: building, about 4 minutes the first time"
    # It runs for seconds: a quick build matters more than a quick tool.
    CARGO_PROFILE_RELEASE_LTO=false CARGO_PROFILE_RELEASE_OPT_LEVEL=0 CARGO_PROFILE_RELEASE_CODEGEN_UNITS=16 \
        cargo install --locked --no-default-features --features rustls \
        --root "$TRUNK_HOME" "trunk@$TRUNK_VERSION"
}

browser() {
    local packages=()
    [ -n "$CHROMIUM" ] || packages+=(chromium)
    [ -n "$CHROMEDRIVER" ] || packages+=(chromium-driver)
    [ -n "$(fc-list 2>/dev/null)" ] || packages+=(fontconfig fonts-dejavu-core)
    if [ "${#packages[@]}" = 0 ]; then
        say "Chromium and its driver: ready"
        return
    fi
    say "for the browser tests: ${packages[*]}"
    if [ "$(id -u)" != 0 ] || ! has apt-get; then
        stop "the tests need Chromium, ChromeDriver of the same version and a font.
    On Debian: sudo apt-get install ${packages[*]}
    Elsewhere: install them and set CHROMIUM and CHROMEDRIVER to their paths."
    fi
    apt-get update -qq
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "${packages[@]}"
}

mkdir -p "$RUNGBOOK_CACHE"
# Two clones setting up at once would build the same tool twice.
if has flock; then
    exec 9>"$RUNGBOOK_CACHE/lock"
    flock 9
fi
for name in "${steps[@]}"; do
    step=$((step + 1))
    "$name"
done
