#!/bin/sh
# Recomputes 10,000 random judgements with scipy, uncertainties and GTC.
# Usage: tests/scripts/cross_check_judgements.sh [PYTHON with those packages]
set -eu
cd "$(dirname "$0")/../.."
lines=$(mktemp)
trap 'rm -f "$lines"' EXIT
FLOATBOWL_JUDGEMENTS="$lines" cargo test --quiet --test quantity -- --ignored
"${1:-python3}" tests/scripts/cross_check_judgements.py "$lines"
