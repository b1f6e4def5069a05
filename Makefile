# Pinfold's commands. `make serve` to see it, `make test` to check it, `make help` for the rest.
# Each installs what the machine lacks (see .ci/tools), so a fresh clone needs no other step.
SHELL := /bin/bash
.SHELLFLAGS := -eu -o pipefail -c
.ONESHELL:
.DEFAULT_GOAL := help
MAKEFLAGS += --no-print-directory

PORT ?= 8080
HOUSE := cargo run --quiet --package pinfold-house --

.PHONY: help serve build site tools

help: ## this list
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/^([a-z-]+):.*## /  make \1\t/' | expand -t 16

tools:
	@.ci/tools build

# The finished site without the limits of size: what a person looks at while working on it.
site: tools
	@echo "  build: compiling (release)"
	.ci/wasm trunk --log warn build
	echo "  build: optimising and listing"
	$(HOUSE) finish --from target/trunk --to target/site --wasm-opt "$$(.ci/wasm which wasm-opt)"

build: site ## the optimised app in target/site; fails above the limits of size
	@$(HOUSE) sizes --site target/site

serve: site ## build what changed and serve it on http://localhost:8080 (PORT=n for another)
	@exec $(HOUSE) serve --site target/site --port $(PORT)
