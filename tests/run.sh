#!/bin/sh
# Set up a virtual environment, then run every check: lint, types, import contract, all tests.
# Needs Python 3.11 or 3.12, gcc and the Python headers; as root on Debian it installs what of these is missing.
set -eu
cd "$(dirname "$0")/.."

find_python() {
    for candidate in python3.11 python3.12 python3; do
        if "$candidate" -c 'import sys, venv, ensurepip; sys.exit(not (3, 11) <= sys.version_info[:2] <= (3, 12))' 2>/dev/null; then
            echo "$candidate"
            return
        fi
    done
}

python=$(find_python)
if { [ -z "$python" ] || ! command -v gcc >/dev/null; } && command -v apt-get >/dev/null && [ "$(id -u)" = 0 ]; then
    apt-get update -qq && apt-get install -y -qq python3 python3-venv python3-dev gcc
    python=$(find_python)
fi
if [ -z "$python" ]; then
    echo "tests/run.sh needs Python 3.11 or 3.12 with venv, gcc and the Python headers" >&2
    exit 1
fi

venv=${TACTICAPI_VENV:-.venv}
[ -x "$venv/bin/python" ] || "$python" -m venv "$venv"
"$venv/bin/python" -m pip install --quiet --disable-pip-version-check --editable '.[test]'
PATH="$(cd "$venv/bin" && pwd):$PATH"
export PATH

echo "lint"; ruff check .
echo "format"; ruff format --check .
echo "types"; mypy
echo "import contract"; lint-imports
echo "rules"; tacticapi rules check
echo "tests"; python -m pytest -n "${TACTICAPI_TEST_WORKERS:-2}" "$@"
