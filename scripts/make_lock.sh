#!/bin/sh
# Writes requirements.lock anew from pyproject.toml: every version, for every platform and Python that it allows, with
# the hashes of its files. Pins that are there stay; name packages to renew them: sh scripts/make_lock.sh numpy scipy
# It asks the registry that pip is set to, and writes down no address. Needs python3 and a network.
set -eu
cd "$(dirname "$0")/.."
tools=build/lock-tools
[ -x "$tools/bin/uv" ] || {
    "${PYTHON:-python3}" -m venv "$tools"
    "$tools/bin/python" -m pip install --quiet --disable-pip-version-check uv
}
renew=
for package in "$@"; do renew="$renew --upgrade-package $package"; done
# shellcheck disable=SC2086  (one option a package)
"$tools/bin/uv" pip compile pyproject.toml --all-extras --group dev --universal --python-version 3.11 \
    --generate-hashes --no-header --no-annotate --quiet $renew --output-file requirements.lock
