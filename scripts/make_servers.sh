#!/bin/sh
# What the tests start for themselves (a browser, a broker, a database server), and what sheets are drawn with.
# On Debian as root whatever is missing is installed; elsewhere it is named. Tests that need it are skipped then, and
# where CI is set this fails at once.
set -eu

missing() {
    [ -x /usr/bin/chromium ] || echo chromium
    [ -x /usr/sbin/mosquitto ] || command -v mosquitto >/dev/null || echo mosquitto
    found=$(ls /usr/lib/postgresql/*/bin/postgres 2>/dev/null || command -v postgres || true)
    [ -n "$found" ] || echo postgresql
    for name in pango-1.0 pangoft2-1.0; do
        "${PYTHON:-python3}" -c "import ctypes; ctypes.CDLL('lib$name.so.0')" 2>/dev/null || echo "lib$name-0"
    done
}

need=$(missing)
[ -n "$need" ] || exit 0
if command -v apt-get >/dev/null && [ "$(id -u)" = 0 ]; then
    echo "installing for the tests:" $need >&2
    apt-get update -qq &&
        DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $need >/dev/null || true
    need=$(missing)
    [ -n "$need" ] || exit 0
    echo "these could not be installed:" $need >&2
else
    echo "the tests lack:" $need >&2
    echo "on Debian: apt-get install --no-install-recommends" $need >&2
fi
if [ -n "${CI:-}" ]; then
    echo "CI is set, so nothing may be missing" >&2
    exit 1
fi
echo "what needs them is skipped" >&2
