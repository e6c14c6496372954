#!/bin/sh
# Set up a virtual environment, then run every check: lint, types, import contract, rules, all tests.
# Needs Python 3.11 or 3.12, gcc, the Python headers, Chromium with its driver, and Node.js with npm; as root on Debian it
# installs what of these is missing.
set -eu
cd "$(dirname "$0")/.."

fits() { "$1" -c 'import sys, venv, ensurepip; sys.exit(not (3, 11) <= sys.version_info[:2] <= (3, 12))' 2>/dev/null; }

find_python() {
    for candidate in python3.11 python3.12 python3; do
        if fits "$candidate"; then
            echo "$candidate"
            return
        fi
    done
}

has() { command -v "$1" >/dev/null; }

missing=""
[ -n "$(find_python)" ] || missing="$missing python3 python3-venv python3-dev"
has gcc || missing="$missing gcc python3-dev"
{ has chromium && has chromedriver; } || missing="$missing chromium chromium-driver fonts-dejavu-core"
{ has node && has npm; } || missing="$missing nodejs npm"
if [ -n "$missing" ] && has apt-get && [ "$(id -u)" = 0 ]; then
    export DEBIAN_FRONTEND=noninteractive
    # shellcheck disable=SC2086 # a list of packages
    apt-get update -qq && apt-get install -y -qq --no-install-recommends $missing >/dev/null
fi
python=$(find_python)
if [ -z "$python" ]; then
    echo "tests/run.sh needs Python 3.11 or 3.12 with venv, gcc and the Python headers" >&2
    exit 1
fi

venv=${TACTICAPI_VENV:-.venv}
fits "$venv/bin/python" || "$python" -m venv --clear "$venv"  # also if it was made with another version
pip() { "$venv/bin/python" -m pip install --quiet --disable-pip-version-check "$@"; }
pip --require-hashes --requirement tests/requirements.lock
# From no index: what pyproject.toml asks for and the lock does not pin is an error here (see docs/updating.md).
pip --no-index --no-build-isolation --editable '.[test]'
PATH="$(cd "$venv/bin" && pwd):$PATH"
export PATH
unset PYTHONDONTWRITEBYTECODE  # the tests start Python about a hundred times, and compiling it all again takes seconds

npm ci --silent --no-audit --no-fund --prefix tests/browser

echo "lint"; ruff check .; bandit --quiet --configfile pyproject.toml --recursive tacticapi
echo "format"; ruff format --check .
echo "types"; mypy
echo "import contract"; lint-imports
echo "rules"; tacticapi rules check
echo "tests"; python -m pytest -n "${TACTICAPI_TEST_WORKERS:-2}" --dist worksteal "$@"
