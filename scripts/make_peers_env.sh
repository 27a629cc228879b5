#!/bin/sh
# Builds .venv-peers: the general solvers that `make bench` compares with, in an environment of their own.
set -eu
python=${PYTHON:-python3}
[ -x .venv-peers/bin/python ] || "$python" -m venv .venv-peers
.venv-peers/bin/python -m pip install --quiet --disable-pip-version-check -r benchmarks/peers.lock
touch .venv-peers/.ready
