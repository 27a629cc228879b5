# make demo   the main job on an invented day, from nothing but python3, make and a package registry
# make test   lint, types, floors and every test
# make env    the environment both use; quick when nothing changed

PY := .venv/bin/python
STAMP := .venv/.pitreckon-ready

.PHONY: demo test env lint types floors unit validate bench clean

env: $(STAMP)

$(STAMP): requirements.lock pyproject.toml scripts/make_env.sh
	sh scripts/make_env.sh
	.venv/bin/pitreckon warm
	@touch $(STAMP)

demo: env
	.venv/bin/pitreckon demo

test: lint types floors unit

lint: env
	.venv/bin/ruff check .
	.venv/bin/ruff format --check .

types: env
	.venv/bin/mypy

floors: env
	.venv/bin/lint-imports

unit: env
	$(PY) -m pytest -n 2

validate: env
	$(PY) -m validation.run
	$(PY) -m validation.calibration
	$(PY) -m validation.twins --write

bench: env .venv-peers/.ready
	$(PY) -m benchmarks.run
	$(PY) -m benchmarks.run --write

.venv-peers/.ready: benchmarks/peers.lock scripts/make_peers_env.sh
	sh scripts/make_peers_env.sh

clean:
	rm -rf .venv .venv-peers build demo-day
