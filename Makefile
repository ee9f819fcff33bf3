# Two commands do everything: `make demo` and `make test`. Each works alone on a bare machine with Python 3.11 or later.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
JOBS ?= auto

.PHONY: demo test serve check bench validation clean help

help:
	@echo "make demo        install, plan the invented demo garden, write its report"
	@echo "make test        install with test tools and run every test"
	@echo "make serve       open the web page with the demo garden on 127.0.0.1"
	@echo "make check       formatting, lint, types, layers"
	@echo "make validation  print our figures beside the published ones"
	@echo "make bench       measure against named peers"
	@echo "make clean       remove what these made"

$(BIN)/python:
	@$(PYTHON) -c 'import sys; sys.exit(0 if sys.version_info >= (3, 11) else "Loamery needs Python 3.11 or later; set PYTHON=/path/to/python3.11")'
	$(PYTHON) -m venv $(VENV)

$(VENV)/.installed: requirements.lock pyproject.toml | $(BIN)/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	@touch $@

$(VENV)/.installed-test: requirements-test.lock pyproject.toml | $(BIN)/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements-test.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	@touch $@ $(VENV)/.installed

demo: $(VENV)/.installed
	$(BIN)/loamery demo --into demo-out

test: $(VENV)/.installed-test
	sh tests/install_browser.sh
	$(BIN)/python -m pytest -n $(JOBS) --dist loadfile --no-loadscope-reorder

check: $(VENV)/.installed-test
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports

validation: $(VENV)/.installed-test
	$(BIN)/python -m pytest validation -q -s

bench: $(VENV)/.installed-test
	$(BIN)/python -m benchmarks

serve: $(VENV)/.installed
	$(BIN)/loamery serve --data demo-out/web

clean:
	rm -rf $(VENV) demo-out build dist .pytest_cache .mypy_cache .ruff_cache .hypothesis
