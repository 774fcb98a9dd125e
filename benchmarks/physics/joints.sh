#!/bin/bash
# Joint bodies of solid elements beside the rigid zones of the program: joints.csv beside this file, the table in docs/theory.md.
# usage: joints.sh JOINTS
set -euo pipefail
folder=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
"$1" "$work"
mv "$work/joints.csv" "$folder/joints.csv"
"$folder/../fill.sh" joints "$work/joints.md" "$folder/../../docs/theory.md"
