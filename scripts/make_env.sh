#!/bin/sh
# Builds .venv from the pinned lock; what was tampered with since does not get in. Needs python3 (3.11 or newer) and a network to the package registry.
set -eu
python=${PYTHON:-python3}

"$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' || {
    echo "pitreckon needs Python 3.11 or newer; set PYTHON=/path/to/it" >&2
    exit 1
}
# Debian splits the venv module's pip off into a package of its own.
if ! "$python" -c 'import ensurepip, venv' 2>/dev/null; then
    if command -v apt-get >/dev/null 2>&1 && [ "$(id -u)" = 0 ]; then
        echo "installing Debian's python3-venv, which $python lacks" >&2
        apt-get update -qq && apt-get install -y -qq --no-install-recommends python3-venv
    else
        echo "python3 has no venv here: install it first (Debian: apt-get install python3-venv)" >&2
        exit 1
    fi
fi
[ -x .venv/bin/python ] || "$python" -m venv .venv
.venv/bin/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
.venv/bin/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation --editable .
