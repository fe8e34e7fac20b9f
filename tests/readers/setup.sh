#!/bin/sh
# Make the readers of another origin that the tests marked `reader` ask, ical.js and recurring-ical-events, and the
# checker of accessibility that the tests marked `browser` run in a page, axe-core.
#
#   tests/readers/setup.sh
#
# They go into $PONDROUND_READERS, by default .readers at the top of the repository. Quick when they are there already.
set -eu

here=$(cd "$(dirname "$0")" && pwd)
home=${PONDROUND_READERS:-$here/../../.readers}
mkdir -p "$home"
home=$(cd "$home" && pwd)

# What is installed is described by these files; when they are the same, so is the result.
wanted=$(cat "$here/setup.sh" "$here/requirements.txt" "$here/package-lock.json" "$here/../web/axe/package-lock.json" | cksum)
if [ -f "$home/done" ] && [ "$(cat "$home/done")" = "$wanted" ]; then
    exit 0
fi
rm -f "$home/done"

python=${PYTHON:-$(command -v python3.11 || command -v python3)}
"$python" -m venv --clear "$home/venv"
"$home/venv/bin/python" -m pip install --quiet --disable-pip-version-check --no-deps -r "$here/requirements.txt"

cp "$here/package.json" "$here/package-lock.json" "$home/"
(cd "$home" && npm ci --loglevel=error --no-audit --no-fund --ignore-scripts)

mkdir -p "$home/axe"
cp "$here/../web/axe/package.json" "$here/../web/axe/package-lock.json" "$home/axe/"
(cd "$home/axe" && npm ci --loglevel=error --no-audit --no-fund --ignore-scripts)

printf '%s\n' "$wanted" > "$home/done"
