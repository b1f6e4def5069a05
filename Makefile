# Pinfold's commands. `make serve` to see it, `make test` to check it, `make help` for the rest.
# Each installs what the machine lacks (see .ci/tools), so a fresh clone needs no other step.
SHELL := /bin/bash
.SHELLFLAGS := -eu -o pipefail -c
.ONESHELL:
.DEFAULT_GOAL := help
MAKEFLAGS += --no-print-directory

PORT ?= 8080
HOUSE := cargo run --quiet --package pinfold-house --

.PHONY: help serve build site dist tools test soak bench fmt

help: ## this list
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/^([a-z-]+):.*## /  make \1\t/' | expand -t 16

tools:
	@.ci/tools build

# The finished site without the limits of size: what a person looks at while working on it.
site: tools
	@echo "  build: compiling (release)"
	cargo build --quiet --package pinfold-house
	PINFOLD_HOUSE=$${CARGO_TARGET_DIR:-$$PWD/target}/debug/pinfold-house .ci/wasm trunk --log warn build
	echo "  build: the worker's module"
	.ci/wasm cargo build --quiet --release --package pinfold-vault
	.ci/wasm wasm-bindgen --target web --no-typescript --out-name pinfold-vault --out-dir target/vault target/wasm/wasm32-unknown-unknown/release/pinfold_vault.wasm
	echo "  build: optimising and listing"
	$(HOUSE) finish --from target/trunk --split target/split --vault target/vault --to target/site --wasm-opt "$$(.ci/wasm which wasm-opt)"

build: site ## the optimised app in target/site; fails above the limits of size
	@$(HOUSE) sizes --site target/site

dist: build ## folder and tar with sums in target/dist, for whoever deploys
	@$(HOUSE) dist --site target/site --to target/dist

serve: site ## build what changed and serve it on http://localhost:8080 (PORT=n for another)
	@exec $(HOUSE) serve --site target/site --port $(PORT)

fmt: ## format everything
	@cargo fmt --all

# Each step says its seconds, also when it fails.
test: ## install what is missing and run every check
	@.ci/tools test
	began=$$SECONDS
	step() {
	  local name=$$1 from=$$SECONDS code=0
	  shift
	  echo "== $$name"
	  "$$@" || code=$$?
	  echo "== $$name: $$((SECONDS - from)) s$$([ $$code = 0 ] || echo ', FAILED')"
	  return $$code
	}
	step "format" cargo fmt --all --check
	step "clippy, host, all crates" cargo clippy --quiet --workspace --all-targets -- -D warnings
	step "core tests" cargo test --quiet -p pinfold-core --lib --examples -- --show-output
	step "what must not compile" cargo test --quiet -p pinfold-core --doc
	step "conformance" cargo test --quiet -p pinfold-tests -p pinfold-house -- --show-output
	step "sealed files" cargo test --quiet -p pinfold-vault -- --show-output
	step "interface, host" cargo test --quiet -p pinfold-app --lib
	step "interface, in the browser" .ci/wasm cargo test -p pinfold-app --test store --test device --test shape
	step "site" $(MAKE) site
	step "browser tests" node tests/browser/run.mjs
	echo "== all checks passed in $$((SECONDS - began)) s"

# The long runs: hours of luck in one evening. KILLS, CASES and FUZZ (seconds for each target) make them
# shorter.
KILLS ?= 200
CASES ?= 100000
FUZZ ?= 600
soak: site ## hundreds of kills, 100,000 sequences, mangled journals by the 100,000, ten minutes of fuzzing each
	@.ci/tools test
	PINFOLD_SEED=new PINFOLD_CASES=$(CASES) cargo test --quiet -p pinfold-tests --test chair_model --test clocks --test hostile -- --show-output
	PINFOLD_SEED=new cargo test --quiet -p pinfold-core --lib -- --show-output
	PINFOLD_SEED=new PINFOLD_FUZZ_SECONDS=$(FUZZ) cargo test --quiet -p pinfold-tests --test fuzz -- --show-output
	PINFOLD_KILLS=$(KILLS) node tests/browser/run.mjs killed

bench: site ## size, taps and start beside a hello world of the same toolchain
	@.ci/tools test
	.ci/wasm cargo build --quiet --release -p pinfold-app --example hello --example thinking
	node tests/browser/bench.mjs
