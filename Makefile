# filmwright: make demo | make test | make bench | make proof
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
WHEEL_SITE := build/wheel-site

.PHONY: demo test bench proof docs debian-packages format clean

demo: $(VENV)/.run-ready
	@$(BIN)/filmwright demo demo

# Two workers on two cores: matrices are small, and threads that share one out only get into each other's way.
test: export OPENBLAS_NUM_THREADS = 1
test: $(VENV)/.test-ready debian-packages
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/python tools/ceilings.py
	$(BIN)/python -m pytest -n 2
	rm -rf dist $(WHEEL_SITE) && $(BIN)/python -m build --wheel --outdir dist . > /dev/null
	$(BIN)/pip install -q --no-deps --target $(WHEEL_SITE) dist/*.whl
	PYTHONPATH=$(abspath $(WHEEL_SITE)) FILMWRIGHT_WHEEL=$(abspath $(WHEEL_SITE)) $(BIN)/python -m pytest -n 2 -m "not whole and not property and not convergence"

bench: $(VENV)/.test-ready
	$(BIN)/python -m bench

# What takes minutes and is proved before a release; the tests run a small version of each.
proof: $(VENV)/.test-ready debian-packages
	$(BIN)/python tools/proof/kill_writers.py
	$(BIN)/python tools/proof/tablets.py
	$(BIN)/python tools/proof/kill_server.py
	$(BIN)/python tools/proof/record_trouble.py
	$(BIN)/python tools/proof/fuzz_api.py
	$(BIN)/python tools/proof/whole_run.py
	$(BIN)/python tools/proof/paint.py

docs: $(VENV)/.test-ready
	$(BIN)/python tools/reference_pages.py
	$(BIN)/python tools/check_values.py

format: $(VENV)/.test-ready
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

# poppler-utils reads the printed sheet back, chromium opens the pages, postgresql is the other database of the record;
# all only for tests.
debian-packages:
	@if command -v apt-get >/dev/null && [ "$$(id -u)" = 0 ]; then \
	  command -v pdftotext >/dev/null && command -v chromium >/dev/null && ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 || \
	  (apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq poppler-utils chromium postgresql >/dev/null); \
	else echo "Not root on Debian: tests that need pdftotext, chromium or PostgreSQL will say that they are skipped."; fi

$(VENV)/.run-ready: requirements/run.txt pyproject.toml
	@echo "Making a virtual environment in $(VENV) and installing pinned packages (once, about a minute) …"
	@test -d $(VENV) || $(PYTHON) -m venv $(VENV)
	@$(BIN)/python -m pip install -q --disable-pip-version-check -r requirements/run.txt
	@$(BIN)/python -m pip install -q --disable-pip-version-check --no-deps -e .
	@touch $@

$(VENV)/.test-ready: $(VENV)/.run-ready requirements/test.txt
	$(BIN)/python -m pip install -q --disable-pip-version-check -r requirements/test.txt
	@touch $@

clean:
	rm -rf demo build dist .pytest_cache .mypy_cache .ruff_cache .hypothesis
