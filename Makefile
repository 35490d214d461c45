# Rungbook: `make serve` builds and serves the app, `make test` runs every check.
# Both set up what they need first; the tools stay in the user's cache, so the next clone finds them.

# Puts the tools on PATH for one command.
ENV := tools/env.sh
WASM := --target wasm32-unknown-unknown
BROWSER_TEST := $(patsubst tests/%.rs,--test %,$(wildcard tests/browser.rs))
E2E_TESTS := $(wildcard tests/e2e/*.test.mjs)
# Building the app takes no browser.
SETUP := $(if $(filter serve build,$(MAKECMDGOALS)),app,all)

.NOTPARALLEL:
.PHONY: help serve test tools build format lint unit browser e2e bench clean

help:
	@echo "make serve    build the app and serve it on localhost (PORT=8080, HOST=127.0.0.1)"
	@echo "make test     every check, the quick ones first: format lint unit browser e2e"
	@echo "make build    the release build, in dist"
	@echo "make bench    speed, size and memory beside the design's goals, in target/bench.md (12 minutes)"
	@echo "make tools    the set-up alone"
	@echo "make clean    remove what was built here; the tools in the cache stay"

serve: build
	@$(ENV) node tools/serve.mjs

# The quick checks come first, and a check that fails ends the run.
test: format lint unit browser e2e
	@echo "All checks passed."

tools:
	@$(ENV) tools/setup.sh $(SETUP)

build: tools
	$(ENV) trunk build --release

format: tools
	$(ENV) cargo fmt --check

lint: tools
	$(ENV) cargo clippy --locked --all-targets -- -D warnings
	$(ENV) cargo clippy --locked $(WASM) --lib --bins $(BROWSER_TEST) -- -D warnings

# Unit, property and doc tests, on the host.
unit: tools
	$(ENV) cargo test --locked

# Rust tests inside Chromium.
browser: tools
ifneq ($(BROWSER_TEST),)
	$(ENV) cargo test --locked $(WASM) $(BROWSER_TEST)
endif

# Whole journeys through the release build. The limit is for one file, in ms: a page that hangs must not hang CI.
e2e: build
ifneq ($(E2E_TESTS),)
	$(ENV) node --test --test-timeout=600000 --test-reporter=spec $(E2E_TESTS)
endif

# Figures and no checks: a slow machine fails nothing. The browser's part reads what the core's part wrote.
bench: build
	$(ENV) cargo bench --locked --bench core -- --quiet
	$(ENV) node tools/measure.mjs

clean:
	$(ENV) cargo clean
	rm -rf dist tests/e2e/shots tests/node_modules
