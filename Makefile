# Two front doors: `make serve` opens the demo workshop, `make test` holds every promise. Second runs start at once.

SHELL := /bin/bash
VENV := .venv
BIN := $(VENV)/bin
PYTHON ?= python3
export PATH := $(CURDIR)/$(BIN):$(PATH)
export PYTHONDONTWRITEBYTECODE := 1
export TINWRIGHT_SKIP_PAGE_BUILD := 1

SERVE_PACKAGES := python3-venv libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core
TEST_PACKAGES := $(SERVE_PACKAGES) chromium libatomic1

HOST ?= 127.0.0.1
PORT ?= 8710

.PHONY: serve test bench lint lock checks page-test python-test system-serve system-test clean help
.NOTPARALLEL:

help:
	@echo "make serve   the demo workshop at http://$(HOST):$(PORT)"
	@echo "make test    lint, page tests, then every Python and browser test"
	@echo "make bench   how fast, as ratios to a baseline measured in the same run"
	@echo "make checks  docs/checks.md anew from the tests against published values"
	@echo "make lock    requirements.lock anew from pyproject.toml, every version with its digests"

# Debian's packages, asked for only when one is missing; without root the one line to run is printed instead.
define need
	@missing=$$(for p in $(1); do dpkg-query -W -f='$${Status}' $$p 2>/dev/null | grep -q 'ok installed' || echo $$p; done); \
	if [ -n "$$missing" ]; then \
	  if ! command -v apt-get >/dev/null; then echo "These are needed: " $$missing; \
	  elif [ "$$(id -u)" = 0 ]; then echo "Installing" $$missing; \
	    apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $$missing >/dev/null; \
	  else echo "Please run once: sudo apt-get install --no-install-recommends" $$missing; exit 1; fi; \
	fi
endef

system-serve:
	$(call need,$(SERVE_PACKAGES))

system-test:
	$(call need,$(TEST_PACKAGES))

$(VENV)/ready: requirements.lock | system-serve
	@echo "Python packages into $(VENV)"
	@test -x $(BIN)/pip || $(PYTHON) -m venv $(VENV)
	@$(BIN)/python -m pip install -q --disable-pip-version-check --require-hashes -r requirements.lock
	@echo "$(CURDIR)" > "$$($(BIN)/python -c 'import sysconfig; print(sysconfig.get_path("purelib"))')/tinwright.pth"
	@touch $@

pwa/node_modules/.ready: pwa/package-lock.json pwa/package.json pwa/.npmrc | $(VENV)/ready
	@echo "Page packages into pwa/node_modules"
	@cd pwa && npm ci --silent --no-audit --no-fund
	@touch $@

PAGE_SOURCES := $(shell find pwa/src pwa/public -type f 2>/dev/null) pwa/index.html pwa/vite.config.ts

pwa/dist/index.html: pwa/node_modules/.ready $(PAGE_SOURCES)
	@echo "Building the page"
	@cd pwa && npx vite build --logLevel warn
	@touch $@

serve: $(VENV)/ready pwa/dist/index.html
	@$(BIN)/python -m server serve --demo --host $(HOST) --port $(PORT)

lint: $(VENV)/ready pwa/node_modules/.ready
	@echo "Lint and types"
	@ruff check . && ruff format --check .
	@mypy
	@cd pwa && npx tsc --noEmit && npx biome check --error-on-warnings .

page-test: pwa/node_modules/.ready
	@echo "Page tests"
	@cd pwa && npx vitest run

python-test: system-test $(VENV)/ready pwa/dist/index.html
	@echo "Python and browser tests"
	@python -m pytest

test: system-test lint page-test python-test

bench: $(VENV)/ready pwa/dist/index.html
	@python -m tests.bench

checks: $(VENV)/ready
	@python -m tests.checks

# Without addresses, so that the lock serves whatever index a machine uses.
lock: $(VENV)/ready
	@$(BIN)/python -m pip install -q --disable-pip-version-check uv
	@uv pip compile -q --universal --generate-hashes --python-version 3.11 --all-extras --no-emit-index-url \
	  --no-emit-find-links --no-header -o requirements.lock pyproject.toml

clean:
	rm -rf $(VENV) pwa/node_modules pwa/dist var .pytest_cache .mypy_cache .ruff_cache .hypothesis
