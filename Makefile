# make demo   the main job on an invented day, from nothing but python3, make and a package registry
# make test   lint, types, floors and every test
# make quick  lint, types, floors and every quick test that needs neither the compiled kernel nor a server; under a minute
# make fmt    puts the code into shape
# make docs   the documentation as a site in build/site: open build/site/index.html
# make env    the environment both use; quick when nothing changed

PY := .venv/bin/python
STAMP := .venv/.pitreckon-ready
WEB := src/pitreckon/web/static/.vite/manifest.json

.PHONY: demo test quick fmt env docs lint types floors servers unit validate calibrate bench quick-bench soak clean

env: $(STAMP) $(WEB)

$(STAMP): requirements.lock pyproject.toml scripts/make_env.sh
	sh scripts/make_env.sh
	.venv/bin/pitreckon warm
	@touch $(STAMP)

$(WEB): $(STAMP) scripts/build_web.sh web-src/package-lock.json web-src/vite.config.js $(wildcard web-src/src/* web-src/public/*)
	sh scripts/build_web.sh

demo: env
	.venv/bin/pitreckon demo

test: lint types floors unit

# tests/watch.py sees to it that no test of these runs the kernel or starts a program.
quick: lint types floors
	PITRECKON_QUICK=1 PYTHONDONTWRITEBYTECODE= $(PY) -m pytest -n 2 -q -m "not kernel and not servers and not slow"

fmt: env
	.venv/bin/ruff check --fix .
	.venv/bin/ruff format .

docs: env
	$(PY) -m scripts.make_site

lint: env
	.venv/bin/ruff check .
	.venv/bin/ruff format --check .

types: env
	.venv/bin/mypy

floors: env
	.venv/bin/lint-imports

# The tests start a browser, a broker and a database server of their own; as root on Debian they are installed first.
servers:
	@sh scripts/make_servers.sh

unit: env servers
	$(PY) -m pytest -n 2

validate: env
	$(PY) -m validation.run
	$(PY) -m validation.practice
	$(PY) -m validation.calibration
	$(PY) -m validation.chained --write
	$(PY) -m validation.feel
	$(PY) -m validation.onward
	$(PY) -m validation.twins --trips --write
	$(PY) -m validation.days --write
	$(PY) -m validation.days.plain --write

# Fits the constants on the fit half of practice; what it cooked is kept in build/practice, so a stopped run goes on.
calibrate: env
	$(PY) -m validation.practice.calibrate

bench: env .venv-peers/.ready
	$(PY) -m benchmarks.run
	$(PY) -m benchmarks.run --write

# Half a minute of a core: tells what a change has made more than 15 % slower, by ratios within the run.
quick-bench: env
	$(PY) -m benchmarks.quick

# Hours: inputs of every form, calls of every operation, a full house, programs that are killed.
soak: env servers
	$(PY) -m benchmarks.run toll
	$(PY) -m benchmarks.soak

.venv-peers/.ready: benchmarks/peers.lock scripts/make_peers_env.sh
	sh scripts/make_peers_env.sh

clean:
	rm -rf .venv .venv-peers build demo-day src/pitreckon/web/static web-src/node_modules
