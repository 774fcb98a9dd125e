#!/bin/bash
# Compare joint bodies of solid elements with the rigid zones of the program: writes joints.csv beside this file and the table in docs/theory.md.
# usage: joints.sh JOINTS
set -euo pipefail
folder=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
"$1" "$work"
mv "$work/joints.csv" "$folder/joints.csv"
"$folder/../fill.sh" joints "$work/joints.md" "$folder/../../docs/theory.md"
