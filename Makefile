# Two commands do all the set-up from nothing: `make demo` and `make test`.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin

.PHONY: demo test check lint types imports tests bench format docs clean

demo: $(VENV)/.ready
	$(BIN)/blockwright demo build-demo

test: check

check: $(VENV)/.ready-dev
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/pytest -n 2 --dist loadfile

lint: $(VENV)/.ready-dev
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/lint-imports

types: $(VENV)/.ready-dev
	$(BIN)/mypy

tests: $(VENV)/.ready-dev
	$(BIN)/pytest -n 2 --dist loadfile

format: $(VENV)/.ready-dev
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

bench: $(VENV)/.ready-dev
	$(BIN)/python benchmarks/run.py

docs: $(VENV)/.ready-dev
	$(BIN)/python tools/make_docs.py

$(VENV)/bin/python:
	$(PYTHON) -c 'import sys; sys.exit("Blockwright needs Python 3.11 or newer; this is " + sys.version.split()[0] if sys.version_info < (3, 11) else 0)'
	$(PYTHON) -m venv $(VENV)

$(VENV)/.ready: $(VENV)/bin/python pyproject.toml requirements.lock
	@echo "Installing Blockwright into $(VENV) (a few minutes the first time) ..."
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c requirements.lock -e .
	@touch $@

$(VENV)/.ready-dev: $(VENV)/bin/python pyproject.toml requirements.lock
	@echo "Installing Blockwright and its tests' tools into $(VENV) ..."
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c requirements.lock -e '.[dev]'
	@touch $(VENV)/.ready $@

clean:
	rm -rf $(VENV) build-demo dist
