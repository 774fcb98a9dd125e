#!/bin/bash
# Show what the mesh changes: press the two feet of the demo with the default mesh and with 8, 16 and 24 elements in every strut.
# usage: mesh.sh STRUTPRESS; writes mesh.csv beside this file.
set -euo pipefail
source "$(dirname "$0")/feet.sh"
for elements in 0 8 16 24; do
    echo "$elements | --set model.elements_per_strut=$elements"
done | feet "$1" mesh.csv elements_per_strut critical_force:N plateau_stress:MPa force_25:N force_50:N force_65:N
