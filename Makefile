# The commands that people and CI run, word for word. Needs python3 (3.11 to 3.13) with venv, make and git.
PYTHON ?= python3
V := .venv
B := $(V)/bin

.PHONY: demo test check verify bench docs lock release system
demo: $(V)/.ok-run
	$(B)/polepiece demo
	@echo "From this folder: $(B)/polepiece serve"

# three workers on two cores: two of them have the pages and mostly wait for them (tests/distribution.py)
test: system $(V)/.ok-test
	$(B)/python -m pytest -n 3

check: $(V)/.ok-test
	$(B)/ruff format --check .
	$(B)/ruff check .
	$(B)/mypy --strict src
	$(B)/python -m pytest tests/architecture

verify: $(V)/.ok-test
	$(B)/python -m verification.trade
	$(B)/python -m verification.run
	$(B)/python -m verification.guitar_file_trials
	$(B)/python -m verification.notebook_trials --write

bench: $(V)/.ok-test
	$(B)/python benchmarks/run.py

# The site in site/, made without a network; a warning is an error.
docs: $(V)/.ok-docs
	$(B)/python -m sphinx -q --fail-on-warning --keep-going -b html -d site/.trees docs site
	@echo "Open site/index.html"

# Versions and hashes of every package of each set, for all Pythons and systems. UPGRADE= keeps those that are there.
UPGRADE ?= --upgrade
LOCK := --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header -q
lock: $(B)/uv
	$(B)/uv pip compile $(LOCK) $(UPGRADE) pyproject.toml --group build --all-extras -o requirements/test.txt
	$(B)/uv pip compile $(LOCK) pyproject.toml --group build $(EXTRAS_run) -c requirements/test.txt -o requirements/run.txt
	$(B)/uv pip compile $(LOCK) pyproject.toml --group build $(EXTRAS_docs) -c requirements/test.txt -o requirements/docs.txt
	echo uv | $(B)/uv pip compile $(LOCK) $(UPGRADE) - -o requirements/uv.txt

# make release VERSION=0.2.0: fragments into CHANGELOG.md, the version, wheel and sdist, both tried in clean environments.
release: $(V)/.ok-test
	$(B)/python scripts/gather_changes.py $(VERSION)
	rm -rf dist
	$(B)/python -m hatchling build
	$(B)/python scripts/try_install.py dist

system:
	@scripts/system-deps.sh

$(B)/uv: requirements/uv.txt
	$(PYTHON) -m venv $(V)
	$(B)/python -m pip install -q --require-hashes -r requirements/uv.txt

# One stamp a set of packages, each held to its hash. pip is the second try, for networks whose registry is set up for pip alone.
EXTRAS_run := --extra app --extra pdf --extra descriptors
EXTRAS_docs := --extra docs
$(V)/.ok-%: $(B)/uv pyproject.toml requirements/%.txt
	$(B)/uv pip install -q --python $(B)/python --require-hashes -r requirements/$*.txt \
	|| $(B)/python -m pip install -q --require-hashes -r requirements/$*.txt
	$(B)/uv pip install -q --python $(B)/python --no-deps --no-build-isolation -e . \
	|| $(B)/python -m pip install -q --no-deps --no-build-isolation -e .
	@touch $@
