# `make run` shows the program at work, `make test` checks all of it. Needed: make, and Python 3.11 or later
# with venv and pip. Everything is kept in .venv and build; only the compile cache is elsewhere (README.md).

PYTHON ?= python3
JOBS ?= 2
CASE ?= examples/colic.toml
PROFILE ?= examples/profiles/clinic.toml
PORT ?= 8600
NAME = $(basename $(notdir $(CASE)))

VENV := .venv
BIN := $(VENV)/bin
STAMPS := $(VENV)/stamps
PIP := $(BIN)/python -m pip --disable-pip-version-check --no-input
PYTEST := $(BIN)/python -m pytest

# A change in one of these makes the compiled code of all of them stale (src/lungeline/compiled.py).
FORMULAS := src/lungeline/compiled.py $(wildcard src/lungeline/physics/*.py src/lungeline/physiology/*.py) \
    $(wildcard src/lungeline/simulate/models/*.py src/lungeline/simulate/kernel/*.py)

.PHONY: help setup run plan test lint format types imports docs bench bench-explain fuzz thorough evidence lock clean torture screenshots soak
.PHONY: set-up-test set-up-bench set-up-postgresql set-up-chromium
.DEFAULT_GOAL := help

help:
	@echo "make run        set up, and open the pages with a made-up clinic: http://127.0.0.1:$(PORT)/"
	@echo "make plan       set up, plan $(CASE), keep the plan in build/"
	@echo "make test       set up, then lint, types, imports and every test"
	@echo "make setup      a virtual environment with a working $(BIN)/lungeline"
	@echo "make lint       ruff: rules and format          make format    let ruff put the format right"
	@echo "make types      mypy, strict                    make imports   who may import whom"
	@echo "make docs       the documentation, into site/   make evidence  the model against published studies"
	@echo "make bench      how fast, and how exact         make fuzz      property tests, many more examples"
	@echo "make bench-explain  what explanation can tell, measured anew: ten minutes or more"
	@echo "make thorough   the long forms of checks        make torture   kill what writes the record, 300 times"
	@echo "make screenshots  every page as a picture       make soak      a long case left open, MINUTES=10"
	@echo "make lock       write the lock files anew       make clean     remove all that was made here"

# --- set-up: each step leaves a stamp, so that a repeated run does nothing ----------------------------------

$(STAMPS)/venv:
	@command -v "$(PYTHON)" >/dev/null || { \
	  echo "No '$(PYTHON)' here. Install Python 3.11 or later, or name one: make PYTHON=python3.12" >&2; exit 1; }
	@"$(PYTHON)" -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { \
	  echo "lungeline needs Python 3.11 or later; '$(PYTHON)' is $$("$(PYTHON)" -V 2>&1)." >&2; \
	  echo "Name a newer one: make PYTHON=python3.12" >&2; exit 1; }
	@"$(PYTHON)" -c 'import ensurepip, venv' || { \
	  echo "'$(PYTHON)' lacks venv or pip. On Debian and Ubuntu: apt install python3-venv" >&2; exit 1; }
	@echo "Making $(VENV) with $$("$(PYTHON)" -V) ..."
	@"$(PYTHON)" -m venv $(VENV)
	@mkdir -p $(STAMPS) && touch $@

$(STAMPS)/run: requirements/run.txt $(STAMPS)/venv
	@echo "Installing what the program needs (requirements/run.txt) ..."
	@$(PIP) install --quiet --require-hashes -r requirements/run.txt
	@touch $@

$(STAMPS)/test: requirements/test.txt $(STAMPS)/run
	@echo "Installing what the tests need (requirements/test.txt) ..."
	@$(PIP) install --quiet --require-hashes -r requirements/test.txt
	@touch $@

$(STAMPS)/bench: requirements/bench.txt $(STAMPS)/test
	@echo "Installing what the benchmarks need (requirements/bench.txt) ..."
	@$(PIP) install --quiet --require-hashes -r requirements/bench.txt
	@touch $@

$(STAMPS)/project: pyproject.toml package-lock.json hatch_build.py $(STAMPS)/run
	@command -v npm >/dev/null || $(PIP) install --quiet --require-hashes -r requirements/node.txt
	@echo "Installing lungeline itself ..."
	@$(PIP) install --quiet --no-deps --no-build-isolation --editable .
	@touch $@

$(STAMPS)/warm: $(FORMULAS) $(STAMPS)/project
	@echo "Compiling the simulated animal (once, up to a minute) ..."
	@$(BIN)/lungeline simulate examples/demo.toml --minutes 1 --json >/dev/null
	@touch $@

setup: $(STAMPS)/warm
	@echo "Ready: $(BIN)/lungeline --help"

set-up-test: $(STAMPS)/test $(STAMPS)/project

# PostgreSQL's server comes from the system's packages; its tests start one of their own in a temporary folder.
set-up-postgresql:
	@if ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 || command -v initdb >/dev/null; then :; \
	elif [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
	  echo "Installing PostgreSQL, for the tests of the record's store ..."; \
	  { apt-get update -qq && DEBIAN_FRONTEND=noninteractive \
	    apt-get install -qq -y --no-install-recommends postgresql; } >/dev/null 2>&1 || \
	  echo "PostgreSQL could not be installed: the store is tested on SQLite only." >&2; \
	else \
	  echo "No PostgreSQL here: the store is tested on SQLite only. Debian, Ubuntu: apt install postgresql" >&2; \
	fi

# The pages are tried in a real browser, from the system's packages.
set-up-chromium:
	@if command -v chromium >/dev/null; then :; \
	elif [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
	  echo "Installing Chromium, for the tests of the pages ..."; \
	  { apt-get update -qq && DEBIAN_FRONTEND=noninteractive \
	    apt-get install -qq -y --no-install-recommends chromium; } >/dev/null 2>&1 || \
	  echo "Chromium could not be installed: the pages are not tried in a browser." >&2; \
	else \
	  echo "No Chromium here: the pages are not tried in a browser. Debian, Ubuntu: apt install chromium" >&2; \
	fi

# what reads pages as a screen reader does comes by the lock file of the pages
node_modules/axe-core/axe.min.js: package-lock.json $(STAMPS)/project
	@PATH="$(CURDIR)/$(BIN):$$PATH" npm ci --ignore-scripts --silent
	@touch $@

set-up-bench: $(STAMPS)/bench $(STAMPS)/warm

# --- at work ------------------------------------------------------------------------------------------------

# the made-up clinic is told anew, up to now, whenever its folder is gone
run: setup
	@mkdir -p build
	LUNGELINE_KEY_FILE=build/demo-key/record.key $(BIN)/lungeline serve --demo --data build/demo --port $(PORT)

plan: setup
	@mkdir -p build
	@$(BIN)/lungeline plan $(CASE) --profile $(PROFILE) --toml build/$(NAME)-planned.toml --pdf build/$(NAME).pdf
	@$(BIN)/lungeline plan $(CASE) --profile $(PROFILE) --json >build/.part.json
	@mv build/.part.json build/$(NAME).json
	@echo "For print: build/$(NAME).pdf. Every number: build/$(NAME).json."
	@echo "To see it run: $(BIN)/lungeline simulate build/$(NAME)-planned.toml"

evidence: setup
	@$(BIN)/lungeline evidence

# --- checks -------------------------------------------------------------------------------------------------

lint: set-up-test
	$(BIN)/ruff check .
	$(BIN)/ruff format --check --quiet .

format: set-up-test
	$(BIN)/ruff check --fix-only .
	$(BIN)/ruff format .

types: set-up-test
	$(BIN)/mypy

imports: set-up-test
	$(BIN)/lint-imports --no-cache --no-logo

# The formulas are tested twice: as plain Python, then, with all else, compiled. What is marked slow runs the
# whole time step, which nobody would wait for in plain Python.
PLAIN_TESTS = src/lungeline/units.py src/lungeline/physics src/lungeline/physiology src/lungeline/simulate/models \
    $(wildcard tests/published tests/unit/test_physics* tests/unit/test_physiology*)

test: lint types imports set-up-postgresql set-up-chromium node_modules/axe-core/axe.min.js $(STAMPS)/warm
	LUNGELINE_PLAIN=1 $(PYTEST) -n $(JOBS) -m "not slow" $(PLAIN_TESTS)
	$(PYTEST) -n $(JOBS) --dist loadfile -m "not long"

fuzz: set-up-test
	$(PYTEST) -n $(JOBS) -m hypothesis --hypothesis-profile=fuzz tests

thorough: set-up-test $(STAMPS)/warm
	$(PYTEST) -n $(JOBS) -m long tests

torture: set-up-test set-up-postgresql
	LUNGELINE_KILLS=300 LUNGELINE_SERVER_KILLS=20 LUNGELINE_HOLDER_KILLS=100 \
	  $(PYTEST) -n $(JOBS) tests/store/test_store_kill.py tests/store/test_store_holding.py

bench: set-up-bench
	@for script in benchmarks/bench_*.py; do echo "== $$script"; $(BIN)/python "$$script" || exit 1; done

bench-explain: set-up-bench
	$(BIN)/python tools/explain_page.py --measure
	@echo "What explanation can and cannot tell: docs/explain_measured.md"

soak: set-up-test set-up-chromium
	$(BIN)/python tools/soak.py --minutes $(or $(MINUTES),10)

screenshots: set-up-test set-up-chromium
	$(BIN)/python tools/screenshots.py
	@echo "Look at them: build/screenshots"

docs: set-up-test
	$(BIN)/python docs/generate.py
	$(BIN)/mkdocs build --strict --quiet
	@echo "The documentation: site/index.html"

# --- upkeep -------------------------------------------------------------------------------------------------

# Keeps every version that still fits; `make lock UPGRADE=--upgrade` takes the newest.
UPGRADE ?=
COMPILE = build/lock/bin/uv pip compile $(UPGRADE) --quiet --no-config --universal --python-version 3.11 \
    --fork-strategy fewest --generate-hashes --no-emit-index-url --no-header --annotation-style line

lock:
	"$(PYTHON)" -m venv build/lock
	build/lock/bin/python -m pip --disable-pip-version-check install --quiet --require-hashes -r requirements/lock.txt
	$(COMPILE) requirements/run.in -o requirements/run.txt
	$(COMPILE) -c requirements/run.txt requirements/test.in -o requirements/test.txt
	$(COMPILE) -c requirements/test.txt requirements/bench.in -o requirements/bench.txt
	$(COMPILE) requirements/lock.in -o requirements/lock.txt
	$(COMPILE) requirements/node.in -o requirements/node.txt

clean:
	rm -rf $(VENV) build dist site docs/generated/*.md
	rm -rf .pytest_cache .hypothesis .mypy_cache .ruff_cache .import_linter_cache
