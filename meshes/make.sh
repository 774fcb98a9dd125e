#!/bin/sh
# Writes the drawings of this folder: foot-arch.vtk, pad-fan.obj, crate-zigzag.vtk, foot-basket.vtk and, with a strutpress
# in the PATH, foot-basket.3mf from the latter. Run inside meshes/.
# The planar ones are 27.16 x 23.16 mm: a coupon of 28 x 24 mm less the thickness of two wall beads of 0.42 mm.
set -eu

# foot-arch.vtk has three courses of arches, each shifted by half an arch, between level plates.
awk 'function point(x, y) { px[n] = x; py[n] = y; return n++ }
function piece(list) { line[lines++] = list; size += split(list, part, " ") + 1 }
BEGIN {
    n = lines = size = 0; w = 27.16; h = 23.16; courses = 3; arches = 3; steps = 12
    span = w / arches; rise = h / courses
    for (c = 1; c < courses; c++) piece(point(0, c * rise) " " point(w, c * rise))
    for (c = 0; c < courses; c++) {
        shift = (c % 2) ? -span / 2 : 0
        for (a = 0; a <= arches; a++) {
            list = ""
            for (k = 0; k <= steps; k++) {
                x = shift + (a + k / steps) * span
                if (x < -1e-9 || x > w + 1e-9) continue
                u = 2 * k / steps - 1
                list = list " " point(x, c * rise + rise * (1 - u * u))
            }
            if (split(list, part, " ") > 1) piece(substr(list, 2))
        }
    }
    print "# vtk DataFile Version 3.0"
    print "foot of an instrument bench: three courses of arches, mm"
    print "ASCII"; print "DATASET POLYDATA"; print "POINTS " n " double"
    for (i = 0; i < n; i++) printf "%.4f %.4f 0\n", px[i], py[i]
    print "LINES " lines " " size
    for (i = 0; i < lines; i++) print split(line[i], part, " ") " " line[i]
}' > foot-arch.vtk

# pad-fan.obj has spokes from the middle of the lower edge and rings about it.
awk 'function point(x, y) { printf "v %.4f %.4f 0\n", x, y; return ++n }
function least(a, b) { return a < b ? a : b }
BEGIN {
    n = m = 0; pi = atan2(0, -1); w = 27.16; h = 23.16; spokes = 9; rings = 4; steps = 24
    print "# pad under a transport crate: a fan of spokes and rings, mm"
    print "o pad-fan"
    hub = 3
    for (s = 0; s < spokes; s++) {
        angle = pi * (s + 0.5) / spokes
        reach = least(h / sin(angle), (w / 2) / (cos(angle) > 0 ? cos(angle) + 1e-12 : 1e-12 - cos(angle)))
        from = point(w / 2 + hub * cos(angle), hub * sin(angle))
        to = point(w / 2 + reach * cos(angle), reach * sin(angle))
        text[m++] = "l " from " " to
    }
    for (r = 0; r < rings; r++) {
        radius = hub + r * (w / 2 - hub) / (rings - 1)
        list = "l"
        for (k = 0; k <= steps; k++) {
            angle = pi * k / steps
            list = list " " point(w / 2 + radius * cos(angle), radius * sin(angle))
        }
        text[m++] = list
    }
    text[m++] = "l " point(0, h) " " point(w, h)
    for (i = 0; i < m; i++) print text[i]
}' > pad-fan.obj

# crate-zigzag.vtk has upright zigzag columns tied by ribs, in the version 5 spelling of VTK cells.
awk 'BEGIN {
    n = lines = 0; w = 27.16; h = 23.16; columns = 6; folds = 8; lean = 1.2
    for (c = 0; c < columns; c++) {
        offset[++lines] = n
        for (k = 0; k <= folds; k++) {
            x = (c + 0.5) * w / columns + ((k % 2) ? lean : -lean) * ((c % 2) ? 1 : -1)
            point[n++] = sprintf("%.4f %.4f 0", x, k * h / folds)
        }
    }
    for (k = 2; k < folds; k += 2) {
        offset[++lines] = n
        point[n++] = sprintf("%.4f %.4f 0", 0, k * h / folds)
        point[n++] = sprintf("%.4f %.4f 0", w, k * h / folds)
    }
    offset[++lines] = n
    print "# vtk DataFile Version 5.1"
    print "crate corner: zigzag columns tied by ribs, mm"
    print "ASCII"; print "DATASET UNSTRUCTURED_GRID"; print "POINTS " n " double"
    for (i = 0; i < n; i++) print point[i]
    print "CELLS " lines " " n; print "OFFSETS vtktypeint64"
    for (i = 1; i <= lines; i++) print offset[i] + 0
    print "CONNECTIVITY vtktypeint64"
    for (i = 0; i < n; i++) print i
    print "CELL_TYPES " lines - 1
    for (i = 1; i < lines; i++) print 4
}' > crate-zigzag.vtk

# foot-basket.vtk lies in space: rings at four levels, each turned by half a pitch against the one below, tied by pairs of legs.
awk 'BEGIN {
    n = m = 0; pi = atan2(0, -1); rings = 4; posts = 12; rise = 8; wide = 12; waist = 9
    for (r = 0; r < rings; r++)
        for (i = 0; i < posts; i++) {
            radius = (r == 0 || r == rings - 1) ? wide : waist
            angle = 2 * pi * (i + (r % 2) / 2) / posts
            point[n++] = sprintf("%.4f %.4f %.4f", wide + radius * cos(angle), r * rise, wide + radius * sin(angle))
        }
    for (r = 0; r < rings; r++)
        for (i = 0; i < posts; i++) {
            here = r * posts + i; above = here + posts
            line[m] = here " " r * posts + (i + 1) % posts; width[m++] = 1.2
            if (r == rings - 1) continue
            line[m] = here " " above; width[m++] = 1.6
            line[m] = here " " (r + 1) * posts + (i + (r % 2 ? 1 : posts - 1)) % posts; width[m++] = 1.6
        }
    print "# vtk DataFile Version 3.0"
    print "foot of an instrument bench: a basket of rings and legs, mm"
    print "ASCII"; print "DATASET POLYDATA"; print "POINTS " n " double"
    for (i = 0; i < n; i++) print point[i]
    print "LINES " m " " 3 * m
    for (i = 0; i < m; i++) print "2 " line[i]
    print "CELL_DATA " m; print "SCALARS diameter double 1"; print "LOOKUP_TABLE default"
    for (i = 0; i < m; i++) print width[i]
}' > foot-basket.vtk

# foot-basket.3mf is the same as a beam lattice, as `check` writes it.
if command -v strutpress > /dev/null; then
    folder=$(mktemp -d)
    cat > "$folder/basket.yaml" << END
coupon: {width: 24 mm, height: 24 mm, depth: 24 mm}
infill: {pattern: drawn, network: $PWD/foot-basket.vtk}
flaws: {seed: 0}
END
    strutpress check "$folder/basket.yaml" --quiet --out "$folder" > /dev/null
    cp "$folder/network.3mf" foot-basket.3mf
    rm -r "$folder"
fi
