# Two commands matter: `make setup` and `make demo`. A developer also needs `make test`.
# Needs Python 3.11 or newer with venv (Debian: apt-get install python3.11 python3.11-venv)
# and a package index that pip can reach. Nothing is written outside this folder.

PY ?= python3.11
UV := .tools/bin/uv
BIN := .venv/bin
export UV_CACHE_DIR ?= $(CURDIR)/.tools/cache
# Compiled modules are kept beside their source, or every start would compile them again.
unexport PYTHONDONTWRITEBYTECODE

# What `make demo` calls, and where its papers go.
DEMO_OUT ?= demo-output
DEMO := $(BIN)/drainwright demo --out $(DEMO_OUT)

# Two cores; a file or fixture stays with one worker. PYTEST_ARGS adds to it.
PYTEST := $(BIN)/python -m pytest -n 2 --dist loadscope $(PYTEST_ARGS)
CODE := $(wildcard src tests tools benchmarks)

.DEFAULT_GOAL := help
.PHONY: help setup demo test test-slow lint checks bench docs lock pin

help:
	@echo "make setup      install everything into .venv, from the hash-pinned lock"
	@echo "make demo       plan and print the demo project into $(DEMO_OUT)/"
	@echo "make test       lint, types, import contracts, tests and doctests"
	@echo "make test-slow  the long suites"
	@echo "make lint       ruff, mypy and the import contracts alone"
	@echo "make checks     write docs/checks/: published value, ours, difference"
	@echo "make bench      run the benchmarks and write their page"
	@echo "make docs       write the pages that are made from code"
	@echo "make pin        rewrite the pinned drawings and papers"
	@echo "make lock       resolve requirements*.in into requirements*.txt"

# ---------------------------------------------------------------- set-up
$(UV): requirements-uv.txt
	@$(PY) -c 'import ensurepip, venv' 2>/dev/null || { \
	  echo "drainwright needs $(PY) with venv. On Debian: apt-get install python3.11 python3.11-venv"; \
	  echo "Another Python: make setup PY=python3.12"; exit 1; }
	$(PY) -m venv .tools
	.tools/bin/python -m pip install -q --no-cache-dir --require-hashes -r requirements-uv.txt
	@touch $@

# The venv is kept while it is used and brought to the lock exactly.
.venv/.ok: $(UV) requirements-dev.txt pyproject.toml
	test -x $(BIN)/python || $(UV) venv -q --clear --no-managed-python -p $(PY) .venv
	$(UV) pip sync -q --no-config --require-hashes --only-binary :all: -p .venv requirements-dev.txt
	$(UV) pip install -q --no-config --no-index --no-deps --no-build-isolation -p .venv -e .
	@touch $@

# The cure engine's kernels are compiled once and kept in the user's cache folder.
.venv/.kernels: .venv/.ok $(wildcard src/drainwright/engineering/*.py)
	@echo "compiling the cure engine, once"
	$(BIN)/python -m drainwright.operations.load_kernels
	@touch $@

setup: .venv/.kernels

demo: setup
	$(DEMO)

# ---------------------------------------------------------------- lint and tests
lint: setup
	$(BIN)/ruff check $(CODE)
	$(BIN)/ruff format --check $(CODE)
	$(BIN)/mypy
	$(BIN)/lint-imports

test: lint
	$(PYTEST) -m "not slow"

# pytest ends with 5 where no test is marked slow yet
test-slow: setup
	$(PYTEST) -m slow || { code=$$?; test $$code -eq 5; }

# ---------------------------------------------------------------- what is made from code
checks: setup
	$(BIN)/python -m tests.write_checks docs/checks

docs: checks
	$(BIN)/python -m tests.nomenclature
	$(BIN)/python -m tests.guide_examples

bench: setup
	@if test -f benchmarks/run.py; then $(BIN)/python benchmarks/run.py; \
	else echo "no benchmark yet (benchmarks/run.py)"; fi

pin: setup
	DRAINWRIGHT_PIN=1 $(BIN)/python -m pytest -m pinned $(PYTEST_ARGS)

# ---------------------------------------------------------------- lock
LOCK := $(UV) pip compile -q --no-config --universal --python-version 3.11 --generate-hashes \
	--no-header --no-annotate --no-emit-index-url --no-emit-find-links $(LOCK_ARGS)

# make lock LOCK_ARGS=--upgrade takes newer releases
lock: $(UV)
	$(LOCK) requirements-uv.in -o requirements-uv.txt
	$(LOCK) requirements.in -o requirements.txt
	$(LOCK) requirements-dev.in -c requirements.txt -o requirements-dev.txt
