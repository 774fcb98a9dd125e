/* Every pattern in the order it is listed: one row here, one file in src/coupon/uniform, adjustable
 * or random. SP_TILING(key, name, alias, doc, perfect, unit_edges, angle); angle: the turn of a
 * case that gives none [deg]; the file of the pattern holds sp_<key>_line_density and
 * sp_<key>_tiling. SP_PATTERN(..), the same for what is no tiling: sp_<key>_line_density,
 * sp_<key>_lattice and sp_<key>_emit. */
SP_TILING(square, "4.4.4.4", "square", "Square tiling: squares, four at each joint", 1, 1, 45)
SP_TILING(triangular, "3.3.3.3.3.3", "triangular",
          "Triangular tiling: triangles, six at each joint", 1, 1, 0)
SP_TILING(hexagonal, "6.6.6", "hexagonal",
          "Hexagonal tiling: hexagons with upright walls, three at each joint", 1, 1, 0)
SP_TILING(kagome, "3.6.3.6", "kagome",
          "Kagome: three families of straight lines around triangles and hexagons", 1, 1, 0)
SP_TILING(truncated_hexagonal, "3.12.12", "truncated-hexagonal",
          "Twelve-sided polygons and triangles", 1, 1, 0)
SP_TILING(truncated_square, "4.8.8", "truncated-square", "Octagons and squares", 1, 1, 0)
SP_TILING(rhombitrihexagonal, "3.4.6.4", "rhombitrihexagonal",
          "Hexagons framed by squares and triangles", 1, 1, 0)
SP_TILING(truncated_trihexagonal, "4.6.12", "truncated-trihexagonal",
          "Twelve-sided polygons, hexagons and squares", 1, 1, 0)
SP_TILING(elongated_triangular, "3.3.3.4.4", "elongated-triangular",
          "Rows of squares between rows of triangles", 1, 1, 0)
SP_TILING(snub_square, "3.3.4.3.4", "snub-square", "Turned squares parted by pairs of triangles", 1,
          1, 0)
SP_TILING(snub_hexagonal, "3.3.3.3.6", "snub-hexagonal",
          "Hexagons in a sea of triangles: the triangular tiling without every seventh joint", 1, 1,
          0)
SP_TILING(re_entrant, "re-entrant", "",
          "Hexagons with walls folded inwards (cell_angle below 0) or outwards, upright length "
          "from cell_ratio",
          1, 0, 0)
SP_TILING(bricks, "bricks", "",
          "Courses of bricks, each shifted by half a brick; cell_ratio = length / height", 1, 0, 0)
SP_PATTERN(
    wavy, "wavy", "",
    "Upright waves tied by straight ribs; wave_height, cell_ratio = wave length / rib spacing", 1,
    0, 0)
SP_PATTERN(voronoi, "voronoi", "random-cells",
           "Random cells about seeded points; regularity sets how evenly the points are spread", 0,
           0, 0)
SP_PATTERN(drawn, "drawn", "",
           "Your own lines from a VTK, OBJ or 3MF file in mm, see meshes/README.md", 0, 0, 0)
