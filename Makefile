# Three commands for a newcomer: make demo, make test, make serve. Wants Python 3.11 or newer,
# make and a package index; everything else is installed into .venv from the lock files.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
export CUREWRIGHT_DEBUG ?= yes

.PHONY: demo test serve check mutate lock pages clean

$(VENV)/runs: requirements.lock
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Python 3.11 or newer is needed: make PYTHON=python3.11 ...")'
	$(PYTHON) -m venv $(VENV)
	$(BIN)/pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	touch $@

$(VENV)/develops: $(VENV)/runs requirements-dev.lock
	$(BIN)/pip install --quiet --disable-pip-version-check --require-hashes -r requirements-dev.lock
	touch $@

demo: $(VENV)/runs  ## one invented working day through the HTTP API
	rm -rf var/demo-database && mkdir -p var/demo-database
	CUREWRIGHT_DATABASE_URL=$${CUREWRIGHT_DATABASE_URL:-sqlite:///$(CURDIR)/var/demo-database/demo.sqlite3} \
	$(BIN)/python manage.py demo $(DEMO)

serve: $(VENV)/runs  ## the demo's data behind a running server, with logins
	rm -rf var/demo-database && mkdir -p var/demo-database
	CUREWRIGHT_DATABASE_URL=sqlite:///$(CURDIR)/var/demo-database/demo.sqlite3 sh -c '\
	$(BIN)/python manage.py demo --keep-logins && CUREWRIGHT_INVENTED_DATA=yes \
	CUREWRIGHT_CONTRACTOR="Invented Pipe Repairs" $(BIN)/python manage.py serve $(SERVE)'

test: $(VENV)/develops  ## the whole suite: SQLite always, PostgreSQL and Redis where they answer
	$(BIN)/python -m tests.run_all

check: $(VENV)/develops  ## format, lint, types, import rules
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports

mutate: $(VENV)/develops  ## break the clocks and windows on purpose: docs/mutation.md
	$(BIN)/pip install --quiet --disable-pip-version-check mutmut==3.8.1
	$(BIN)/mutmut run --max-children 2
	$(BIN)/mutmut results

lock: ## compile the lock files anew (wants uv)
	uv pip compile -q --generate-hashes --no-emit-index-url --no-emit-find-links --universal --python-version 3.11 --extra planning pyproject.toml -o requirements.lock
	uv pip compile -q --generate-hashes --no-emit-index-url --no-emit-find-links --universal --python-version 3.11 --extra dev -c requirements.lock pyproject.toml -o requirements-dev.lock

clean:
	rm -rf var mutants $(VENV)
