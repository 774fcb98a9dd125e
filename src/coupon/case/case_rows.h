/* Every parameter of a case has one row here. The rows drive parsing, units, ranges, defaults,
 * `check` and the reference.
 *
 * X(key, field, kind, unit, default, low, high, words, readers, doc)
 *
 *   key        "section.name" in the case file
 *   field      member of sp_case
 *   kind       NUMBER double, INTEGER int, CHOICE int (position in words), LIST sp_list,
 *              NAME, FILE and TEXT text
 *   unit       unit of the number as written; "%" also accepts the plain fraction; "" has none
 *   default    as a user would write it; "" = not given
 *   low, high  inclusive, in the unit of sp_case (a fraction for "%")
 *   words      choices "a|b"; for a NUMBER the word that stands for infinity
 *   readers    which cases read the key, "" every one; a case that gives a key which it does
 *              not read gets a caution
 *
 * Readers are words. Words with blanks between them must all hold; of words with | between them
 * one must hold:
 *
 *   planar, spatial              a pattern of that kind
 *   drawn, drawn-in-space        drawn lines with one z, or with several
 *   solid, struts                the block without holes, everything else
 *   bars                         struts that are no panels (not press.direction: along)
 *   rates                        several curves in material.table
 *   thickening                   joint.thickening is not 1
 *   in-space                     a network in space: spatial, drawn-in-space, or planar layers
 *   across, along                press.direction: walls that are struts, or that stand along the
 *                                load
 *   layers, flaws                infill.layers, flaws.seed is not 0
 *   friction-hold                platens.hold is friction
 *   no-c10                       no material.c10 takes the place of the modulus
 *   time, softening, set,        what a press in time, or its material, has
 *   shares, exponent, flow,
 *   relaxation
 *   pattern:a|b, law:a|b         patterns and laws by name
 */
#ifndef SP_CASE_CASE_ROWS_H
#define SP_CASE_CASE_ROWS_H

#define SP_SECTION_ROWS(X)                                                                         \
    X("coupon", "the block that is pressed")                                                       \
    X("infill", "the pattern that fills it")                                                       \
    X("bead", "the printed line")                                                                  \
    X("joint", "what the print adds where struts meet")                                            \
    X("material", "the strut law and its constants")                                               \
    X("platens", "what holds the lower and upper face")                                            \
    X("press", "how far to press")                                                                 \
    X("flaws", "printing imperfections; all are free of stress")                                   \
    X("model", "how finely to compute")

/* clang-format off */
#define SP_CASE_ROWS(X) \
    X("coupon.width", width, NUMBER, "mm", "28 mm", 0.1, 10000, "", "", "size across the pressing direction; planar: the pattern lies in the plane of width and height") \
    X("coupon.height", height, NUMBER, "mm", "24 mm", 0.1, 10000, "", "", "size along the pressing direction: the platens lie on the width x depth faces") \
    X("coupon.depth", depth, NUMBER, "mm", "20 mm", 0.01, 10000, "", "", "planar: size along the extrusion of the pattern, the direction in which the printed layers are stacked; the part is pressed lying on its side, along the height") \
    X("coupon.block", block, INTEGER, "", "0", 0, 1000, "", "along planar", "walls along the load: press a block of at least this many cells a side, with the same perimeter and cut alike, in the place of the coupon, for sweeps and for parts that are too large; 0 = the whole coupon, else 2 or more") \
    X("coupon.block_sides", block_sides, CHOICE, "", "free", 0, 0, "free|mirror", "along planar", "walls along the load: sides of coupon.block; free = as those of the coupon; mirror = planes of symmetry, so that the block stands for the middle of a wide part without perimeter walls (bead.walls: 0); it takes a pattern with such planes at right angles to all walls that they cut, as square, and goes by neither infill.angle nor infill.offset") \
    X("coupon.skins", skin, NUMBER, "mm", "0 mm", 0, 1000, "", "along", "walls along the load: thickness of the full layers on top and bottom, between the walls and the platens, inside coupon.height; 0 = none, the walls stand on the platens") \
    X("infill.pattern", pattern, NAME, "", "square", 0, 0, "", "", "name or alias of a pattern, or drawn; see `list patterns`") \
    X("infill.density", density, NUMBER, "%", "20 %", 0.01, 1, "", "planar|spatial|solid", "line length per area x bead width, as printers count it; spatial: line length per volume x strut section") \
    X("infill.angle", angle, NUMBER, "deg", "", -360, 360, "", "planar", "planar: turns the pattern counter-clockwise; when not given the angle of the pattern, see `list patterns`") \
    X("infill.offset_x", offset_x, NUMBER, "", "0", -100, 100, "", "planar|spatial", "planar: shift along the first lattice vector of the pattern, in periods: 1 changes nothing; spatial: in cells along the x of a cell; also `offset: [x, y]`") \
    X("infill.offset_y", offset_y, NUMBER, "", "0", -100, 100, "", "planar|spatial", "the same along the second lattice vector; `check` shows both in mm, random cells: one mean cell; spatial: along the y of a cell") \
    X("infill.offset_z", offset_z, NUMBER, "", "0", -100, 100, "", "spatial", "spatial: shift in cells along the z of a cell; also `offset: [x, y, z]`") \
    X("infill.cells_x", cells_x, INTEGER, "", "0", 0, 1000, "", "spatial", "spatial: whole cells across the width, stretched to fit; also `cells: [x, y, z]`; 0 = from cell_size, or from density and strut_diameter") \
    X("infill.cells_y", cells_y, INTEGER, "", "0", 0, 1000, "", "spatial", "spatial: whole cells over the height") \
    X("infill.cells_z", cells_z, INTEGER, "", "0", 0, 1000, "", "spatial", "spatial: whole cells through the depth") \
    X("infill.cell_size", cell_size, NUMBER, "mm", "", 0.01, 10000, "", "spatial", "spatial: side of a cell that is not stretched; cut at the faces where it does not fit") \
    X("infill.strut_diameter", strut_diameter, NUMBER, "mm", "", 0.001, 1000, "", "spatial|drawn-in-space", "spatial: round struts; of density, cells or cell_size, and strut_diameter two are given") \
    X("infill.diameter_offset", diameter_offset, NUMBER, "mm", "0 mm", -10, 10, "", "spatial|drawn-in-space", "round struts: printed less drawn diameter, as measured on a print; density and cells go by the drawn one") \
    X("infill.direction", direction, LIST, "", "[0, 1, 0]", -100, 100, "", "spatial", "spatial: direction of the crystal that is pressed, in the axes of its cell") \
    X("infill.turn", turn, NUMBER, "deg", "0 deg", -360, 360, "", "spatial", "spatial: turns the lattice about the pressing direction") \
    X("infill.face_plates", face_plates, CHOICE, "", "none", 0, 0, "none|grillage", "spatial", "spatial: grillage = struts along x and z on both faces, through the joints there") \
    X("infill.side_frames", side_frames, CHOICE, "", "no", 0, 0, "no|yes", "spatial", "spatial: struts along the edges of the coupon") \
    X("infill.cell_angle", cell_angle, NUMBER, "deg", "-20 deg", -80, 80, "", "pattern:re-entrant|re-entrant-cubic", "re-entrant hexagons: inclination of the slanted struts, negative = re-entrant") \
    X("infill.cell_ratio", cell_ratio, NUMBER, "", "2", 0.1, 20, "", "pattern:re-entrant|re-entrant-cubic|bricks|wavy", "upright / slanted length (re-entrant), brick length / height, wave length / rib spacing") \
    X("infill.wave_height", wave_height, NUMBER, "", "0.15", 0, 1, "", "pattern:wavy", "wavy lines: amplitude / wave length") \
    X("infill.regularity", regularity, NUMBER, "", "0.6", 0, 1, "", "pattern:random-cells|voronoi-foam", "random cells: 0 scattered seeds, 1 almost hexagons") \
    X("infill.cell_seed", cell_seed, INTEGER, "", "1", 0, 2147483647, "", "pattern:random-cells|voronoi-foam", "random cells: seed of the cells") \
    X("infill.network", network_file, FILE, "", "", 0, 0, "", "drawn|drawn-in-space", "file of drawn lines for pattern drawn, relative to the case file") \
    X("infill.toolpath", toolpath_file, FILE, "", "", 0, 0, "", "pattern:printed", "printed: file of a tool path (ISO 6983 words), relative to the case file") \
    X("infill.filament_diameter", filament_diameter, NUMBER, "mm", "1.75 mm", 0.1, 20, "", "pattern:printed", "printed: of the filament that the path meters") \
    X("infill.path_turn", path_turn, NUMBER, "deg", "0 deg", -360, 360, "", "pattern:printed", "printed: turns the path counter-clockwise, so that it is pressed along y") \
    X("infill.path_box", path_box, LIST, "mm", "", -1e5, 1e5, "", "pattern:printed", "printed: [x, y, x, y] of the part in the turned path; when not given all of it") \
    X("infill.path_layers", path_layers, LIST, "", "", 1, 20000, "", "pattern:printed", "printed: [first, last] layer that is taken; when not given all") \
    X("infill.path_gap", path_gap, NUMBER, "%", "25 %", 0, 1, "", "pattern:printed", "printed: beads touch across a gap of this share of their width") \
    X("infill.layers", layers, INTEGER, "", "0", 0, 1000, "", "planar|drawn", "planar patterns: 0 extruded through the depth, n = that many bonded layers") \
    X("infill.layer_turn", layer_turn, NUMBER, "deg", "90 deg", -360, 360, "", "layers", "layers: turn of every other one against the first") \
    X("infill.layer_pattern", layer_pattern, NAME, "", "", 0, 0, "", "layers", "layers: pattern of every other one; the same when not given") \
    X("bead.width", bead_width, NUMBER, "mm", "0.42 mm", 0.01, 100, "", "planar|drawn|drawn-in-space", "width of one printed line") \
    X("bead.width_offset", width_offset, NUMBER, "mm", "0 mm", -10, 10, "", "planar|drawn", "printed less drawn width of a line, as measured on a print; of a wall once for all its beads; density and cells go by the drawn one") \
    X("bead.flanks", flanks, NUMBER, "mm", "0 mm", 0, 100, "", "along", "walls along the load: height of the printed layers, whose round flanks thin a wall between its beads; 0 = flat flanks, the wall is as thick as a bead is wide all over") \
    X("bead.walls", wall_beads, INTEGER, "", "2", 0, 20, "", "planar|drawn", "beads side by side in the perimeter wall") \
    X("joint.thickening", thickening, NUMBER, "", "1", 0.3, 3, "", "bars", "strut thickness at the edge of a joint / strut thickness, as measured on a print; a wall grows by as much as one of its beads") \
    X("joint.thickening_length", thickening_length, NUMBER, "", "2", 0.1, 20, "", "bars thickening", "length over which the ends taper to the thickness of the strut, in strut thicknesses") \
    X("material.filament", filament, TEXT, "", "", 0, 0, "", "", "name of a filament, see `list filaments`, or a .yaml file of the same form beside the case: what the case does not say of its material") \
    X("material.reach", reach, NUMBER, "%", "none", 0.001, 10, "none", "", "strain that the data of the material reach: a caution tells when a fibre goes beyond") \
    X("material.reach_rates", reach_rates, LIST, "", "", 1e-12, 1e6, "", "time", "lowest and highest strain rate of the data of the material [1/s]: a caution tells when fibres are strained slower or faster") \
    X("material.law", law, NAME, "", "neo-hookean", 0, 0, "", "", "strut law; see `list laws`") \
    X("material.modulus", modulus, NUMBER, "MPa", "30 MPa", 1e-4, 1e6, "", "law:linear|neo-hookean|gent|mooney-rivlin|yeoh no-c10", "small-strain Young's modulus; a measured value overrides a hardness; see docs/filament.md") \
    X("material.shore_a", shore_a, NUMBER, "", "", 10, 99, "", "law:linear|neo-hookean|gent|mooney-rivlin|yeoh no-c10", "hardness Shore A; without a modulus the centre of its band is taken; see docs/filament.md") \
    X("material.shore_d", shore_d, NUMBER, "", "", 10, 90, "", "law:linear|neo-hookean|gent|mooney-rivlin|yeoh no-c10", "hardness Shore D; the same") \
    X("material.poisson_ratio", poisson_ratio, NUMBER, "", "0.5", 0, 0.5, "", "law:linear|yielding", "laws linear and, below yield, yielding (hard filaments: 0.35 to 0.4); the other laws keep their volume") \
    X("material.c10", c10, NUMBER, "MPa", "", -1e5, 1e5, "", "law:mooney-rivlin|yeoh", "laws mooney-rivlin and yeoh: factor of I1 - 3") \
    X("material.c01", c01, NUMBER, "MPa", "", -1e5, 1e5, "", "law:mooney-rivlin", "law mooney-rivlin: factor of I2 - 3") \
    X("material.c20", c20, NUMBER, "MPa", "", -1e5, 1e5, "", "law:yeoh", "law yeoh: factor of (I1 - 3)^2") \
    X("material.c30", c30, NUMBER, "MPa", "", -1e5, 1e5, "", "law:yeoh", "law yeoh: factor of (I1 - 3)^3") \
    X("material.ogden_modulus", ogden_modulus, LIST, "MPa", "", -1e5, 1e5, "", "law:ogden", "law ogden: one mu per term") \
    X("material.ogden_exponent", ogden_exponent, LIST, "", "", -100, 100, "", "law:ogden", "law ogden: one alpha per term") \
    X("material.gent_limit", gent_limit, NUMBER, "", "50", 0.01, 1e6, "", "law:gent", "law gent: largest I1 - 3") \
    X("material.table", table_file, FILE, "", "", 0, 0, "", "law:tabulated|yielding", "laws tabulated and yielding: CSV of strain and stress in MPa, relative to the case file; several with ; between them, at the rates of table_rates") \
    X("material.table_compression", table_compression, FILE, "", "", 0, 0, "", "law:tabulated|yielding", "laws tabulated and yielding: rows of a compression test, written with positive or with negative signs; one file, or one for every rate of table_rates, with ; between them; without it compression is derived from tension, unless material.table has rows of negative strain") \
    X("material.table_rates", table_rates, LIST, "", "", 1e-9, 1e6, "", "law:tabulated|yielding", "strain rate of every file of material.table [1/s]; the press interpolates by the logarithm of its own rate, beyond them the nearest is taken") \
    X("material.table_scale", table_scale, NUMBER, "", "1", 0.01, 100, "", "law:tabulated|yielding", "all stresses of material.table and table_compression times this: a print that is weaker or stronger than its test bar") \
    X("material.rate", rate, NUMBER, "", "", 1e-9, 1e6, "", "law:tabulated|yielding rates", "strain rate of the fibres [1/s] for material.table_rates; when not given press.speed / coupon.height") \
    X("material.softening.ratio", softening_ratio, NUMBER, "", "", 1, 1000, "", "", "stress softening of first loadings: r, the first stiffness over the drop of it at the second loading; see docs/time.md") \
    X("material.softening.energy", softening_energy, NUMBER, "MPa", "0 MPa", 0, 1e6, "", "softening", "stress softening: m, energy over which the softening of an unloading fibre develops") \
    X("material.softening.share", softening_share, NUMBER, "", "0", 0, 100, "", "softening", "stress softening: share of the largest energy that is added to material.softening.energy") \
    X("material.relaxation.exponent", relaxation_exponent, NUMBER, "", "", 0.001, 0.5, "", "", "n of a modulus that falls as t^-n: one branch per decade") \
    X("material.relaxation.compression_set", relaxation_set, NUMBER, "%", "", 0.001, 0.99, "", "", "the same from the compression set of the solid material: an upper bound of n") \
    X("material.relaxation.set_held", relaxation_held, NUMBER, "s", "22 h", 1, 1e8, "", "set", "compression set: how long it was held") \
    X("material.relaxation.set_free", relaxation_free, NUMBER, "s", "30 min", 1, 1e8, "", "set", "compression set: how long it was free when it was measured") \
    X("material.relaxation.shares", relaxation_shares, LIST, "", "", 1e-6, 1000, "", "", "branches given one by one: modulus of each / material.modulus") \
    X("material.relaxation.times", relaxation_times, LIST, "s", "", 1e-9, 1e9, "", "shares", "branches given one by one: relaxation time of each") \
    X("material.relaxation.reference", relaxation_reference, NUMBER, "s", "1 s", 0, 1e9, "rest", "relaxation", "material.modulus is that of a test that takes this long; 0 = at once, rest = when all has relaxed") \
    X("material.relaxation.shortest", relaxation_shortest, NUMBER, "s", "0.01 s", 1e-5, 1e4, "", "exponent", "relaxation time of the first branch of an exponent, a power of ten") \
    X("material.relaxation.longest", relaxation_longest, NUMBER, "s", "1e6 s", 1, 1e6, "", "exponent", "relaxation time of its last branch") \
    X("material.flow.share", flow_share, NUMBER, "", "", 1e-6, 1000, "", "", "branch that flows (hard grades): its modulus / material.modulus") \
    X("material.flow.stress", flow_stress, NUMBER, "MPa", "", 1e-6, 1e6, "", "flow", "branch that flows: s, its stress grows by 2.303 s per decade of speed") \
    X("material.flow.time", flow_time, NUMBER, "s", "", 1e-6, 1e12, "", "flow", "branch that flows: its relaxation time at small stress") \
    X("material.second_flow.share", second_flow_share, NUMBER, "", "", 1e-6, 1000, "", "", "another branch that flows: its modulus / material.modulus") \
    X("material.second_flow.stress", second_flow_stress, NUMBER, "MPa", "", 1e-6, 1e6, "", "second_flow", "another branch that flows: its s") \
    X("material.second_flow.time", second_flow_time, NUMBER, "s", "", 1e-6, 1e12, "", "second_flow", "another branch that flows: its relaxation time at small stress") \
    X("material.strain_state", strain_state, CHOICE, "", "plane_strain", 0, 0, "plane_strain|uniaxial", "struts", "plane_strain for extruded patterns, uniaxial for free struts (spatial patterns always)") \
    X("material.across_layers", across_layers, NUMBER, "", "1", 0.5, 1.5, "", "along", "walls along the load: modulus across the layers / modulus along the bead; 1 = alike, as nothing is known unless it is measured") \
    X("material.solid_density", solid_density, NUMBER, "g/cm3", "1.2 g/cm3", 0.01, 30, "", "", "mass density of the solid, for the mass") \
    X("material.friction", strut_friction, NUMBER, "", "0", 0, 3, "", "struts", "coefficient of friction between struts") \
    X("platens.hold", platens, CHOICE, "", "bonded", 0, 0, "bonded|sliding|friction", "", "bonded: faces held sideways and in rotation; sliding: free sideways; friction: free but for it") \
    X("platens.friction", platen_friction, NUMBER, "", "0", 0, 3, "", "struts|friction-hold", "coefficient of friction of struts on the platens: of the faces with hold friction, and of what folds against them") \
    X("press.direction", press_direction, CHOICE, "", "across", 0, 0, "across|along|through", "planar|drawn|pattern:printed", "planar: across = in the plane of the printed layers, the part lies on its side; along = printed flat and loaded from above, the pattern in the plane of width and depth, its walls as high as the coupon and standing along the load; through = layers of their own (infill.layers, or a tool path whose layers repeat), printed flat and loaded from above, through the stack") \
    X("press.strain", strain, NUMBER, "%", "70 %", 1e-6, 0.95, "", "", "press to this nominal strain") \
    X("press.load_limit", load_limit, NUMBER, "N", "none", 1e-3, 1e9, "none", "", "stop at this platen force (the load cell)") \
    X("press.steps", steps, INTEGER, "", "140", 1, 100000, "", "", "planned steps to the strain; when not given one per 0.5 % of strain for press.direction along and beyond 70 %, of spatial patterns 100 and one per 0.6 % beyond 60 %") \
    X("press.unload", unload, CHOICE, "", "no", 0, 0, "no|yes", "", "then lift the platen until the coupon carries nothing: unloading curve, work given back, set") \
    X("press.protocol", protocol, TEXT, "", "", 0, 0, "", "", "what is done in time instead of strain and unload: segments, or the name of a ready-made one; see `list protocols` and docs/time.md") \
    X("press.speed", press_speed, NUMBER, "mm/min", "10 mm/min", 1e-6, 1e5, "", "time|rates", "speed of the platen where a law in time, a segment or material.table_rates asks for one") \
    X("press.find_critical", find_critical, CHOICE, "", "yes", 0, 0, "no|yes", "", "also press the coupon without flaws to its critical step") \
    X("press.branches", branches, CHOICE, "", "no", 0, 0, "no|yes", "bars", "where a fold begins, push single layers and the softest direction, look whether the coupon comes to rest in another state, go on from that of least energy and say how far the curves of the others lie; several times the work") \
    X("press.seeds", seeds, INTEGER, "", "0", 0, 99, "", "struts flaws", "`press`: number of flaw seeds, from flaws.seed on, on all cores: median, lowest and highest of every figure; 0 = 5, or 1 where one press takes over a minute. Plans and targets have their own `seeds:`") \
    X("flaws.seed", flaw_seed, INTEGER, "", "1", 0, 2147483647, "", "", "seed of the flaws; 0 = a perfect coupon") \
    X("flaws.bow", bow, NUMBER, "%", "0.5 %", 0, 0.2, "", "struts flaws", "deviation of the bow of a strut, or of a wall between two joints, / its length") \
    X("flaws.thickness_scatter", thickness_scatter, NUMBER, "%", "3 %", 0, 0.3, "", "struts flaws", "deviation of the thickness of a strut, or of a wall between two joints (no wall that lies on a platen), / thickness") \
    X("flaws.row_scatter", row_scatter, NUMBER, "%", "0 %", 0, 0.3, "", "struts flaws across", "deviation of the thickness of a whole row of struts, and of the walls beside them, as high as their mean rise, / thickness: what stands between two heights was printed alike, and one row folds before the others") \
    X("flaws.missing", missing, NUMBER, "%", "0 %", 0, 0.5, "", "struts flaws", "share of infill struts left out") \
    X("flaws.joint_offset", joint_offset, NUMBER, "%", "5 %", 0, 1, "", "struts flaws", "deviation of joint positions / bead width") \
    X("model.joint_zone", joint_zone, NUMBER, "", "", 0, 4, "", "struts across", "how round the corners of the joints are: 0.5 sharp, 1 a radius of a third of the thickness, 2 filled; 0 struts to their centrelines; default 1, struts in space 0.5") \
    X("model.elements_per_strut", elements_per_strut, INTEGER, "", "0", 0, 256, "", "struts", "0 = chosen from the slenderness; press.direction along: cells along a wall of mean length, 0 = four") \
    X("model.section_points", section_points, INTEGER, "", "5", 2, 16, "", "struts", "quadrature points through the thickness") \
    X("model.contact_spacing", contact_spacing, NUMBER, "", "0", 0, 10, "", "struts", "distance of the points along a strut that press on others, over the thinnest strut; 0 = 0.32, in space 0.15, walls along the load 0.4") \
    X("model.shear_factor", shear_factor, NUMBER, "", "0", 0, 2, "", "in-space", "struts in space: shear area / area; 0 = of the section, see docs/theory.md, section 10")
/* clang-format on */

#endif
