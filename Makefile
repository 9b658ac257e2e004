# `make` alone lists what can be made. Everything is installed in .venv, nothing outside this folder.

SHELL := /bin/sh
VENV  := .venv
BIN   := $(VENV)/bin
READY := $(VENV)/ready

# The Python that .venv is made with; `make setup PYTHON=python3.13` asks for another.
PYTHON ?=

# No package that we use may report home.
export GX_ANALYTICS_ENABLED := false
export DO_NOT_TRACK := 1
export PREFECT_SERVER_ANALYTICS_ENABLED := false
export PREFECT_CLOUD_ENABLE_ORCHESTRATION_TELEMETRY := false

# The same setup for everybody: no settings file of uv, no Python that uv fetches; and the
# certificates the system trusts, as pip has them.
export UV_NO_CONFIG := 1
export UV_PYTHON_DOWNLOADS := never
export UV_SYSTEM_CERTS := 1
export PIP_DISABLE_PIP_VERSION_CHECK := 1
unexport PYTHONPATH PYTHONHOME VIRTUAL_ENV PYTHONDONTWRITEBYTECODE

.PHONY: help setup venv demo test test-long fuzz union check fmt bench pictures pins words hooks clean
.DEFAULT_GOAL := help

help: ## list the targets
	@echo "Weighbook. Targets:"
	@sed -n 's/^\([a-z]*\):[^#]*## \(.*\)/\1|\2/p' Makefile \
	  | while IFS='|' read -r name words; do printf '  make %-7s %s\n' "$$name" "$$words"; done

setup: $(READY) ## make .venv with the pinned packages (a minute or two, 2 GB; later at once)
	@echo "Ready: $(BIN)/weighbook --help"

# Runs again only when one of these files changes. Every package is checked against its hash in
# constraints.txt, and so is uv, which installs in seconds what takes pip two minutes.
$(READY): pyproject.toml constraints.txt constraints-uv.txt
	@echo "Setting up .venv (about a minute) ..."
	@$(BIN)/python -c 'import pip, sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null \
	  || $(MAKE) --no-print-directory venv
	@if $(BIN)/python -m pip install -qq --require-hashes -r constraints-uv.txt \
	    && $(BIN)/uv pip install --quiet --compile-bytecode --python $(BIN)/python --only-binary :all: \
	         --require-hashes -r constraints.txt; then :; \
	  else \
	    echo "uv cannot be used here; installing with pip (two to four minutes) ..."; \
	    $(BIN)/python -m pip install -qq --only-binary :all: --require-hashes \
	      -r constraints.txt \
	    || { echo "The packages could not be installed: see the lines above." \
	              "Is there a network, and 2 GB of free disk?" >&2; exit 1; }; \
	  fi
	@$(BIN)/python -m pip install -qq --no-deps --no-build-isolation --no-index --editable .
	@touch $(READY)

venv:
	@rm -rf $(VENV)
	@for python in $(PYTHON) python3 python3.13 python3.12 python3.11; do \
	  "$$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || continue; \
	  "$$python" -c 'import ensurepip, venv' 2>/dev/null || { bare=$$python; continue; }; \
	  echo "Using $$("$$python" --version) ($$(command -v "$$python"))"; \
	  exec "$$python" -m venv $(VENV); \
	done; \
	if [ -n "$$bare" ]; then \
	  echo "$$bare cannot make virtual environments here." \
	       "On Debian or Ubuntu: sudo apt install python3-venv" >&2; \
	else \
	  echo "Weighbook needs Python 3.11 or later, and none was found" \
	       "(python3: $$(python3 --version 2>/dev/null || echo none))." \
	       "Install one, or name it: make setup PYTHON=/path/to/python3.12" >&2; \
	fi; exit 1

demo: $(READY) ## take the sample sheets through to statements, in demo-book/
	@$(BIN)/weighbook demo

test: $(READY) ## run the tests; ARGS="-k moisture" picks some
	@$(BIN)/python -m pytest -n 2 --dist loadfile -m "not long" $(ARGS)

test-long: $(READY) ## run the tests that draw or measure whole books, some minutes more
	@$(BIN)/python -m pytest -n 2 --dist loadfile -m long $(ARGS)

# One thread each: the inputs are small, and two processes share them.
fuzz: $(READY) ## read 100 000 made inputs, half an hour; ARGS="--seed 2 --inputs 2000"
	@POLARS_MAX_THREADS=1 $(BIN)/python -m tests.fuzz $(ARGS)

union: $(READY) ## a union on two workers, one of them killed; ARGS="--books 40 --deliveries 100000"
	@$(BIN)/weighbook trial union $(ARGS)

check: $(READY) ## lint, formatting, types and import contracts
	@$(BIN)/ruff check .
	@$(BIN)/ruff format --check .
	@$(BIN)/pyright
	@$(BIN)/lint-imports --no-logo

fmt: $(READY) ## format the code and mend what lint can mend
	@$(BIN)/ruff check --fix-only --quiet .
	@$(BIN)/ruff format .

bench: $(READY) ## measure all work beside DuckDB, pandas and great-expectations (five minutes)
	@$(BIN)/weighbook bench $(ARGS)

pictures: $(READY) ## draw pictures of every document into build/pictures (a minute)
	@test -d demo-book || $(BIN)/weighbook demo > /dev/null
	@$(BIN)/python -m tests.pictures demo-book build/pictures

# Pins stay as they are unless a bound in pyproject.toml rules them out; ARGS=--upgrade renews all.
PIN := $(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes \
         --no-emit-index-url --no-emit-find-links --no-header --no-annotate

pins: $(READY) ## work out constraints.txt and constraints-uv.txt anew
	@$(PIN) $(ARGS) pyproject.toml --group dev --output-file constraints.txt
	@echo uv | $(PIN) $(ARGS) - --output-file constraints-uv.txt
	@! grep -nE '://|^-' constraints.txt constraints-uv.txt

words: $(READY) ## bring the catalogues of the documents up to the strings in reports/
	@mkdir -p build
	@$(BIN)/pybabel --quiet extract -k say -k mark --no-location --output-file=build/reports.pot reports
	@$(BIN)/pybabel --quiet update --input-file=build/reports.pot --output-dir=reports/locale \
	  --domain=reports --no-fuzzy-matching --ignore-obsolete --ignore-pot-creation-date --width=100
	@$(BIN)/python -m pytest -q --no-header tests/reports/test_catalogues.py

hooks: $(READY) ## run `make check` before every git commit
	@$(BIN)/pre-commit install

clean: ## remove what runs, checks and builds left behind (.venv stays)
	@rm -rf build dist demo-book .pytest_cache .ruff_cache .hypothesis .import_linter_cache
	@find pipeline checks reports tests -name __pycache__ -type d -prune -exec rm -rf {} +
