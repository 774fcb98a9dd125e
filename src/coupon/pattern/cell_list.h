/* Every spatial pattern in the order it is listed: one row here, one file in src/coupon/cell or
 * random. SP_CELL(key, name, alias, doc); the file of the pattern holds sp_<key>_lattice.
 * SP_RANDOM_CELL(key, name, alias, doc); it holds sp_<key>_emit. */
SP_CELL(simple_cubic, "simple-cubic", "", "Cubes: struts along the three axes, six at each joint")
SP_CELL(body_centred_cubic, "body-centred-cubic", "",
        "The four space diagonals of a cube, eight struts at each joint")
SP_CELL(face_centred_cubic, "face-centred-cubic", "",
        "The face diagonals of a cube: four struts at a face centre, twelve at a corner")
SP_CELL(octet_truss, "octet-truss", "",
        "Octahedra and tetrahedra: face diagonals and the octahedron inside, twelve at each joint")
SP_CELL(kelvin, "bitruncated-cubic", "kelvin",
        "Truncated octahedra that fill space: squares and hexagons, four at each joint")
SP_CELL(diamond_cubic, "diamond-cubic", "",
        "Bonds of diamond, four at each joint as in a tetrahedron")
SP_CELL(rhombic_dodecahedral, "rhombic-dodecahedral", "",
        "Edges of rhombic dodecahedra that fill space: four or eight at a joint")
SP_CELL(
    gyroid_skeleton, "laves-graph", "gyroid-skeleton",
    "The net inside a gyroid: three struts in a plane at each joint, turning from joint to joint")
SP_CELL(cubic_on_corner, "cubic-on-corner", "",
        "Cubes standing on a corner; its repeating box is 1.414 x 1.732 x 2.449 cells")
SP_CELL(re_entrant_cubic, "re-entrant-cubic", "",
        "Re-entrant hexagons in both upright planes; cell_angle, cell_ratio as in the plane")
SP_RANDOM_CELL(
    voronoi_foam, "voronoi-foam", "",
    "Edges of random cells about seeded points; regularity sets how evenly they are spread")
