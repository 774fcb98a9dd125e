#!/bin/bash
# Show what friction changes: the two feet of the demo with coefficients between struts, and on platens that hold by friction alone.
# usage: friction.sh STRUTPRESS; writes friction.csv beside this file.
set -euo pipefail
source "$(dirname "$0")/feet.sh"
while read -r hold platens struts; do
    echo "$hold,$platens,$struts | --set platens.hold=$hold --set platens.friction=$platens --set material.friction=$struts" \
        "--set press.load_limit=none --set press.find_critical=no"
done << ROWS | feet "$1" friction.csv platens,friction_platens,friction_struts force_10:N force_25:N force_50:N force_65:N energy_dissipated:mJ
bonded 0 0
bonded 0.5 0
bonded 0.5 0.25
bonded 0.5 0.5
bonded 0.5 1
sliding 0 0
friction 0.1 0
friction 0.5 0
friction 0.5 0.5
ROWS
