/* One row per measure: name, unit ("-" without), one line with definition and source. The order
 * here is the order in every output. AT rows are a figure of figure_list.h at a strain. A new
 * measure is a function sp_measure_<name> in a file of src/result/figure plus one row here.
 *
 * Each says which standard or paper defines it, or that the definition is its own. Terms of
 * standards: the chord of ISO 604 and the terms of ISO 13314:2011 were read in public text about
 * them, the 25, 40 and 65 % of ISO 2439 in its abstract; clauses, the numbers of ISO 13314, ISO
 * 3386 and ISO 815-1 are from memory. Strain is shortening / height, stress is force / (width x
 * depth).
 */
#ifndef SP_MEASURE_LIST_H
#define SP_MEASURE_LIST_H

#include <strutpress/measure.h>

#define SP_MEASURE_LIST(X, AT)                                                                     \
    X(initial_stiffness, "N/mm",                                                                   \
      "tangent of the unloaded coupon; of a curve with a toe, first tangent below half of the "    \
      "steepest slope before the first maximum and 10 % strain: that slope, carried back to zero " \
      "force (toe compensation as in ASTM D695 and ISO 604)")                                      \
    X(chord_modulus, "MPa",                                                                        \
      "chord between 0.05 % and 0.25 % strain after toe compensation (ISO 604:2002, clause 3, "    \
      "compressive "                                                                               \
      "modulus); forces between states by the cubic through their tangents, steps up to 0.5 %")    \
    X(first_maximum, "MPa",                                                                        \
      "stress at the first maximum that is followed by a drop of 1 % or more (first maximum "      \
      "compressive strength of ISO 13314:2011, clause 3; the 1 % is our own): under a weight the " \
      "coupon "                                                                                    \
      "falls on from here")                                                                        \
    X(first_maximum_strain, "-", "strain at the first maximum (own)")                              \
    X(drop_after_maximum, "-",                                                                     \
      "fall of the force behind the first maximum / that maximum; 0 without one (own)")            \
    X(plateau_stress, "MPa", "mean stress over 20 to 40 % strain (ISO 13314:2011, clause 3)")      \
    X(plateau_stress_20_30, "MPa",                                                                 \
      "mean stress over 20 to 30 % strain (ISO 13314:2011, clause 3)")                             \
    X(plateau_end, "-",                                                                            \
      "strain beyond 20 % where the stress rises through 1.3 x plateau_stress (ISO 13314:2011, "   \
      "clause 3)")                                                                                 \
    X(densification_strain, "-", "strain at efficiency_max (Li, Magkiriadis & Harrigan 2006)")     \
    X(efficiency_max, "-",                                                                         \
      "largest energy absorption efficiency: energy per volume / present stress (Miltz & "         \
      "Gruenbaum 1981; Li, Magkiriadis & Harrigan 2006); states below half of the largest "        \
      "force so far, behind a snap, are not counted (own)")                                        \
    X(efficiency_iso_13314, "-",                                                                   \
      "energy per volume up to 50 % strain / (largest stress up to there x 50 %) (energy "         \
      "absorption efficiency of ISO 13314:2011, clause 3)")                                        \
    X(energy_per_volume_densification, "MJ/m3",                                                    \
      "work per coupon volume up to densification_strain (own)")                                   \
    X(energy_per_volume_50, "MJ/m3",                                                               \
      "work per coupon volume up to 50 % strain (energy absorption of ISO 13314:2011, clause 3)")  \
    X(energy_per_mass, "J/kg", "work per coupon mass up to densification_strain (own)")            \
    AT(force_10, force_at, 0.10, "N",                                                              \
       "force at 10 % strain; at a snap, after it (own, as the four below)")                       \
    AT(force_25, force_at, 0.25, "N", "force at 25 % strain")                                      \
    AT(force_40, force_at, 0.40, "N", "force at 40 % strain")                                      \
    AT(force_50, force_at, 0.50, "N", "force at 50 % strain")                                      \
    AT(force_65, force_at, 0.65, "N", "force at 65 % strain")                                      \
    X(force_ratio_65_25, "-",                                                                      \
      "force at 65 % / force at 25 % strain between platens (own definition; the indenter of "     \
      "ISO 2439 measures something else)")                                                         \
    X(solid_share_10, "-",                                                                         \
      "force at 10 % strain / that of the solid block of its size, law and platens; friction "     \
      "platens: of the bonded block (own)")                                                        \
    X(solid_share_25, "-", "the same at 25 % strain (own)")                                        \
    X(solid_share_40, "-", "the same at 40 % strain (own)")                                        \
    X(energy_dissipated, "mJ",                                                                     \
      "work that yielding fibres and friction do not give back, up to the last state, that of "    \
      "the way back when there is one; not modelled without either (own)")                         \
    X(set_strain, "-",                                                                             \
      "strain left at once when the force is gone (press.unload); recovery takes time and is not " \
      "predicted (own)")                                                                           \
    X(instant_set, "-",                                                                            \
      "set_strain / strain of the press (own definition; compression set of ISO 815-1 is held "    \
      "for "                                                                                       \
      "hours and left to recover for half an hour, which is not predicted)")                       \
    X(energy_returned, "mJ",                                                                       \
      "work that the coupon gives back on the way back (press.unload; own)")                       \
    X(energy_kept, "-", "share of the work of the press that it does not give back (own)")         \
    X(hold_force_1_s, "-",                                                                         \
      "force 1 s into the first hold / force when it began (own, as the four below)")              \
    X(hold_force_10_s, "-", "the same after 10 s")                                                 \
    X(hold_force_100_s, "-", "the same after 100 s")                                               \
    X(hold_force_1000_s, "-", "the same after 1000 s")                                             \
    X(hold_decay, "-", "share of the force that is lost over the last tenfold of the time held")   \
    X(set_1_s, "-",                                                                                \
      "share of the deepest shortening that is left 1 s after the last rest began (own)")          \
    X(set_1_min, "-", "the same after 1 min (own)")                                                \
    X(set_30_min, "-", "the same after 30 min (compression set as in ISO 815-1 and ASTM D395)")    \
    X(set_24_h, "-", "the same after 24 h (own)")                                                  \
    X(set_half_time, "s",                                                                          \
      "time until half of the shortening at the beginning of that rest is "                        \
      "gone (own)")                                                                                \
    X(recovered_height, "mm", "height at the end of that rest (own)")                              \
    X(cycle_force_25, "N",                                                                         \
      "force at 25 % strain of the original height in the last cycle of the protocol (own, as "    \
      "the seven below)")                                                                          \
    X(cycle_force_40, "N", "the same at 40 % strain")                                              \
    X(cycle_force_50, "N", "the same at 50 % strain")                                              \
    X(cycle_force_65, "N", "the same at 65 % strain")                                              \
    X(cycle_peak, "N", "largest force of the last cycle")                                          \
    X(cycle_softening, "-",                                                                        \
      "force at the end of the last press / at the end of the first, when both go as far")         \
    X(cycle_loss_first, "-",                                                                       \
      "share of the work of the first press that its release does not give "                       \
      "back")                                                                                      \
    X(cycle_loss, "-", "the same of the last cycle")                                               \
    X(impact_peak, "-",                                                                            \
      "largest force of the first drop / weight of the mass, as a gauge on the mass reads it "     \
      "(ASTM D1596)")                                                                              \
    X(impact_peak_later, "-", "the same, mean of the later drops (ASTM D1596)")                    \
    X(impact_time, "s",                                                                            \
      "from contact to the largest force of the first drop (own, as the five below)")              \
    X(impact_duration, "s", "from contact until the mass has bounced off")                         \
    X(impact_depth, "-", "deepest strain of the first drop, of the original height")               \
    X(impact_bottoming, "-",                                                                       \
      "share of that which lies beyond the strain of the largest energy absorption efficiency on " \
      "the way down; 0: it does not bottom out")                                                   \
    X(impact_rebound, "mm", "height that the mass bounces to")                                     \
    X(impact_loss, "-", "share of the energy of the fall that the rebound does not give back")     \
    X(energy_softened, "mJ",                                                                       \
      "dissipated by stress softening, up to the last state (own, as the two below)")              \
    X(energy_relaxed, "mJ", "dissipated by relaxation, up to the last state")                      \
    X(energy_flowed, "mJ", "dissipated by flow, up to the last state")                             \
    X(critical_strain, "-",                                                                        \
      "strain of the critical step of the coupon without flaws (own, as all rows below)")          \
    X(critical_force, "N", "platen force at the critical step of the coupon without flaws")        \
    X(buckled_strain, "-", "coupon strain when the first strut of the flawed coupon buckles")      \
    X(buckled_force, "N", "axial compression of that strut at its maximum")                        \
    X(buckled_slenderness, "-", "free length / radius of gyration of that strut")                  \
    X(buckled_euler_ratio, "-", "buckled_force / Euler load of that strut with clamped ends")      \
    X(fibre_strain_max, "-", "largest fibre strain anywhere along the path")                       \
    X(final_strain, "-", "strain of the last state")                                               \
    X(final_force, "N", "force of the last state")                                                 \
    X(nominal_density, "-", "infill line length x bead width / area, inside the walls")            \
    X(solid_fraction, "-", "solid area / coupon area: crossings once, walls included")             \
    X(mass, "g", "solid_fraction x coupon volume x solid density")

#define SP_MEASURE_DECLARE(name, unit, doc)                                                        \
    sp_measure sp_measure_##name(const sp_path *path, const sp_network *network,                   \
                                 const sp_case *request);
#define SP_MEASURE_AT_A_STRAIN(name, figure, strain, unit, doc)
SP_MEASURE_LIST(SP_MEASURE_DECLARE, SP_MEASURE_AT_A_STRAIN)
#undef SP_MEASURE_AT_A_STRAIN
#undef SP_MEASURE_DECLARE

#endif
