#!/bin/sh
# The long checks, about an hour or two on two cores: run them in the night, and before a release. Needs what
# tests/run.sh needs, `pip install -e '.[upkeep]'`, npm, and for known holes in dependencies the network. Ends with
# status 1 if any check failed.
set -u
cd "$(dirname "$0")/.."
venv=${TACTICAPI_VENV:-.venv}
PATH="$(cd "$venv/bin" && pwd):$PATH"
export PATH
failed=0

check() {
    name=$1
    shift
    echo "== $name"
    "$@" || { failed=1; echo "== $name FAILED"; }
}

lint_contract() {
    (cd tests/contract/lint && npm ci --silent --no-audit --no-fund &&
        REDOCLY_TELEMETRY=off npx redocly lint ../../../openapi/openapi.yaml --config redocly.yaml &&
        npx spectral lint ../../../openapi/openapi.yaml --ruleset spectral.yaml --fail-severity warn)
}

check "the contract, linted" lint_contract
check "known holes in dependencies" pip-audit --strict --disable-pip --requirement tests/requirements.lock
check "any request, 2,000 of each operation" env CONTRACT_EXAMPLES=2000 python -m pytest -q -n 2 tests/contract
check "any request, over HTTP" env CONTRACT_SERVED=1 CONTRACT_EXAMPLES=100 python -m pytest -q tests/contract
check "every spoilt import" env SPOILT_IMPORTS=all python -m pytest -q tests/store/test_hostile_import.py
check "without the engine" python -m pytest -q -p tests.without_engine -n 2 tests
check "kills" python -m tests.store.kills --kills 100
for engine in "" --postgresql; do
    check "load $engine" python -m tests.served.load $engine
    check "memory $engine" python -m tests.served.load $engine --requests 50000
done
check "benchmarks" python tests/benchmarks/run
exit "$failed"
