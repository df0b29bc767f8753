# Two commands do everything on a machine with Python 3.11 and make: `make demo` and `make test`.
PYTHON ?= python3.11
VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check --quiet

.PHONY: demo test help bench format schema docs lock clean check-format check-lint check-types check-layers check-docs check-tests browser

demo: $(VENV)/.run ## five invented jobs, judged, with their proof sheets in out/demo; then the bench over an invented shop at port 8642
	$(BIN)/twoturn demo --serve

test: check-format check-lint check-types check-layers check-docs check-tests ## every check of the project

help: ## this list
	@sed -nE 's/^([a-z][a-z-]*)( [a-z-]+)?:[^#]*## (.*)/  make \1\t\3/p' Makefile | expand -t 22

bench: $(VENV)/.bench ## measure the targets and write docs/measured.md
	$(BIN)/python -m bench

format: $(VENV)/.dev ## format the code
	$(BIN)/ruff check --fix-only --quiet .
	$(BIN)/ruff format .

docs schema: $(VENV)/.dev ## write the generated parts of docs and the schemas
	$(BIN)/python -m tools.make_docs

check-format: $(VENV)/.dev ## only this part of test: is the code formatted
	$(BIN)/ruff format --check .

check-lint: $(VENV)/.dev ## only this part of test: slips, spelling, dependencies
	$(BIN)/ruff check .
	$(BIN)/codespell src tests docs tools bench README.md CONTRIBUTING.md CHANGELOG.md
	$(BIN)/deptry src

check-types: $(VENV)/.dev ## only this part of test: types
	$(BIN)/mypy

check-layers: $(VENV)/.dev ## only this part of test: who may import whom
	$(BIN)/lint-imports

check-docs: $(VENV)/.dev ## only this part of test: are the generated documents fresh
	$(BIN)/python -m tools.make_docs --check

check-tests: $(VENV)/.dev browser ## only this part of test: the tests, examples of README and docs among them
	$(BIN)/python -m pytest -n $$($(BIN)/python -c "import os; print(os.cpu_count() + 1)") --dist worksteal -q

browser: ## Chromium for the tests of the pages; installed where it is missing and may be (Debian, Ubuntu)
	@test -x /usr/bin/chromium || tools/install_browser.sh

lock: ## fix the versions and hashes of all that is installed
	rm -rf build/lock && $(PYTHON) -m venv build/lock && build/lock/bin/python -m pip --quiet install uv
	cd requirements && for part in run dev bench; do UV_PYTHON_DOWNLOADS=never ../build/lock/bin/uv pip compile --quiet --universal \
	  --python-version 3.11 --generate-hashes --only-binary :all: --no-emit-index-url --no-emit-find-links \
	  --no-annotate --no-header $$part.in -o $$part.txt || exit 1; done
	! grep -nE '://|file:|--index-url' requirements/*.txt

clean: ## take away everything that was built or installed here
	rm -rf $(VENV) build out .mypy_cache .ruff_cache .pytest_cache .hypothesis

$(VENV)/pyvenv.cfg:
	$(PYTHON) -m venv $(VENV)

$(VENV)/.run: $(VENV)/pyvenv.cfg requirements/run.txt pyproject.toml
	@test -e $@ || echo "Installing what twoturn needs, some minutes ..."
	$(PIP) install --require-hashes --only-binary :all: -r requirements/run.txt
	$(PIP) install --no-index --no-deps --no-build-isolation -e .
	touch $@

$(VENV)/.dev: $(VENV)/.run requirements/dev.txt
	$(PIP) install --require-hashes --only-binary :all: -r requirements/dev.txt
	touch $@

$(VENV)/.bench: $(VENV)/.dev requirements/bench.txt
	$(PIP) install --require-hashes --only-binary :all: -r requirements/bench.txt
	touch $@
