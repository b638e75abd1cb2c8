# The commands that people and CI run, word for word. Needs python3 (3.11 to 3.13) with venv, make and git.
PYTHON ?= python3
V := .venv
B := $(V)/bin

.PHONY: demo test check verify bench lock system
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

lock: $(B)/uv
	$(B)/uv pip compile pyproject.toml --all-extras --upgrade --no-emit-index-url --no-header -o constraints.txt

system:
	@scripts/system-deps.sh

$(B)/uv:
	$(PYTHON) -m venv $(V)
	$(B)/python -m pip install -q uv

# One stamp a set of packages. pip is the second try, for networks whose registry is set up for pip alone.
WANT_run := -e .[app,pdf,descriptors]
WANT_test := -e .[test]
$(V)/.ok-%: $(B)/uv pyproject.toml constraints.txt
	$(B)/uv pip install -q --python $(B)/python -c constraints.txt $(WANT_$*) \
	|| $(B)/python -m pip install -q -c constraints.txt $(WANT_$*)
	@touch $@
