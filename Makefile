# The contributor's vocabulary. Every target sets up what it needs.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
USED := $(VENV)/.used
STAMP := $(VENV)/.developed
# What of Python's packages development was last tried with, where this Python has such a list.
LOCK = $(wildcard constraints/$(shell $(BIN)/python -c 'import sys; print("cp%d%d" % sys.version_info[:2])').txt)
# Tests at a time: as many as there are processors.
WORKERS ?= auto
RUST := $(shell find rust -name '*.rs' -o -name Cargo.toml) Cargo.toml

.PHONY: demo test test-rust test-python lint lock accuracy bench wheel clean

# Runs the main job on an invented boat and says what came out.
demo: $(USED)
	$(BIN)/scrieve loft samples/sandling.offsets -o out/sandling

# Everything that must pass before a change lands.
test: test-rust test-python

# The bindings have no tests of their own; with them in the workspace's selection what they are built of is built once.
test-rust:
	cargo test --release --workspace --tests
	cargo test --release --workspace --doc -q

test-python: $(STAMP)
	$(BIN)/python -m pytest -n $(WORKERS) --dist worksteal

# How it is written: format, lints, types, and that the documentation builds.
lint: $(STAMP)
	cargo fmt --all --check
	cargo clippy --release --workspace --all-targets -- -D warnings
	cargo doc --release --workspace --no-deps -q
	$(BIN)/ruff check python tests benches
	$(BIN)/ruff format --check python tests benches
	$(BIN)/mypy

# Writes down what this Python's packages are, to be tried with again.
lock: $(STAMP)
	$(BIN)/python -m pip freeze --exclude-editable > $(or $(LOCK),constraints/$$($(BIN)/python -c 'import sys; print("cp%d%d" % sys.version_info[:2])').txt)

# Errors against hulls known in closed form, slips found, and how fair the lines are, as tables.
accuracy:
	cargo run --release -p scrieve-fairing --example accuracy
	cargo run --release -p scrieve-fairing --example as_built
	cargo run --release -p scrieve-fairing --example sparse
	cargo run --release -p scrieve-fairing --example slips
	cargo run --release -p scrieve-hull --example fair_lines
	cargo run --release -p scrieve-hull --example uncertainty

# Ratios against other libraries doing the same, in one run.
bench: $(STAMP)
	$(BIN)/python benches/run.py

# A wheel for any Python from 3.10 on; its user needs no Rust.
wheel: $(STAMP)
	$(BIN)/python -m pip -q wheel --no-deps -w dist .

$(VENV)/bin/python:
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 10))' || { echo "scrieve needs Python 3.10 or later"; exit 1; }
	cargo --version >/dev/null || { echo "scrieve is built with Rust: install it from your system or rustup"; exit 1; }
	$(PYTHON) -m venv $(VENV)

# What a user needs; what a developer needs is that and more, installed at once.
$(USED): $(VENV)/bin/python pyproject.toml $(RUST)
	$(BIN)/python -m pip install -q -e .
	touch $@

$(STAMP): $(VENV)/bin/python pyproject.toml $(RUST) $(wildcard constraints/*.txt)
	$(BIN)/python -m pip install -q -e '.[dev]' $(addprefix -c ,$(LOCK))
	touch $(USED) $@

clean:
	rm -rf $(VENV) target dist out
