/* The commands: X(function, name, arguments, one line). One file per command in src/cli/command or,
 * of many presses, in src/cli/study. */
#ifndef SP_TERMINAL_COMMAND_LIST_H
#define SP_TERMINAL_COMMAND_LIST_H

#define SP_COMMAND_ROWS(X)                                                                         \
    X(start, "start", "FOLDER", "write a case, a plan and a target to begin with")                 \
    X(press, "press",                                                                              \
      "CASE.yaml [--out FOLDER] [--set section.name=value]... [--figures LIST] [--seeds N] "       \
      "[--format F] "                                                                              \
      "[--quiet]",                                                                                 \
      "press a coupon: curve, first buckle, measures, pictures")                                   \
    X(check, "check",                                                                              \
      "CASE.yaml | PLAN.yaml | TARGET.yaml | MESH.stl [--out FOLDER] "                             \
      "[--set section.name=value]... [--case CASE.yaml] [--try SECONDS] [--format F] [--quiet]",   \
      "show the resolved case, its figures and how long it takes without pressing, or a mesh")     \
    X(mesh, "mesh",                                                                                \
      "CASE.yaml [--out FOLDER] [--set section.name=value]... [--without-walls] [--with-flaws] "   \
      "[--width-scale FACTOR] [--quiet]",                                                          \
      "write the coupon as a closed surface to be printed: 3MF and STL")                           \
    X(path, "path",                                                                                \
      "CASE.yaml --bed X,Y,Z [--corner X,Y] [--layer-height H] [--filament D] [--speed S] "        \
      "[--travel-speed S] [--out FOLDER] [--set section.name=value]... [--without-walls] "         \
      "[--with-flaws] [--width-scale FACTOR] [--quiet]",                                           \
      "write the beads of a planar coupon as motion words for a printer")                          \
    X(batch, "batch", "PLAN.yaml [--store FILE] [--threads N] [--share I/N] [--quiet]",            \
      "press every coupon of a plan into a store")                                                 \
    X(gather, "gather", "STORE... --store FILE", "bring the coupons of several stores into one")   \
    X(compare, "compare",                                                                          \
      "STORE | CASE.yaml... [--out FOLDER] [--measures A,B] [--rank MEASURE] [--mass GRAMS] "      \
      "[--tested FILE] [--dump] [--format F] [--store FILE] [--threads N] [--quiet]",              \
      "compare the coupons of a store, or cases: table, exponents, ranking, curves")               \
    X(rig, "rig",                                                                                  \
      "FILE [--specimen N] [--cycle N] [--zero auto|file|contact|toe] [--preload N] "              \
      "[--starts-at MM] [--travel COLUMN] [--force COLUMN] [--machine-stiffness N/MM] "            \
      "[--machine-curve FILE] [--height MM] [--area MM2] [--out FOLDER]",                          \
      "read curves of a test rig, and say and draw what was understood")                           \
    X(seek, "seek",                                                                                \
      "TARGET.yaml [--store FILE] [--out FOLDER] [--threads N] [--format F] [--quiet]",            \
      "find the coupons that meet a target with the least material")                               \
    X(calibrate, "calibrate",                                                                      \
      "TESTED.yaml [--store FILE] [--out FOLDER] [--threads N] [--format F] [--quiet]",            \
      "fit values of a case to tested coupons, and predict others with them")                      \
    X(cushion, "cushion",                                                                          \
      "CASE.yaml [--heights LIST] [--masses LIST] [--out FOLDER] [--set section.name=value]... "   \
      "[--quiet]",                                                                                 \
      "drop masses on a coupon: largest force over weight against static stress")                  \
    X(report, "report",                                                                            \
      "STORE | CASE.yaml... [--out FILE] [--title TEXT] [--question TEXT] [--measures A,B] "       \
      "[--rank MEASURE] [--states N] [--show TEXT]... [--beside PLACE] [--tested FILE] "           \
      "[--threads N] [--seeds N] [--quiet]",                                                       \
      "write one HTML page: table, curves, deformed states, settings, cautions")                   \
    X(bench, "bench", "[FOLDER] [--port N] [--threads N]",                                         \
      "describe, press, compare and choose coupons on a page in your browser")                     \
    X(list, "list",                                                                                \
      "patterns | laws | measures | writers | parameters | filaments | protocols | reference | "   \
      "completion-bash | completion-zsh [--format F]",                                             \
      "list what a case or a result may contain")                                                  \
    X(help, "help", "[COMMAND]", "explain the program or one command")

#endif
