/* Ready-made protocols by what they do: X(name, segments, doc). Each names the standard it follows;
 * "read" was seen in public text about the standard, the rest is from memory. None of them replaces
 * the standard: see the text of it before a test is reported by its name. */
#ifndef SP_READY_LIST_H
#define SP_READY_LIST_H

#define SP_READY_ROWS(X)                                                                           \
    X("press and recover",                                                                         \
      "press to 50 % at 10 mm/min, hold for 10 s, release at 10 mm/min, rest for 24 h",            \
      "one press, let go, looked at after 1 s, 1 min, 30 min and 24 h; no standard")               \
    X("compression set",                                                                           \
      "press to 25 % at 10 mm/min, hold for 22 h, release at 10 mm/min, rest for 30 min",          \
      "25 % for 22 h, measured after 30 min, as ASTM D395 method B (strain, times and formula "    \
      "read) and ISO 815-1 (which presses harder grades by 15 and 10 %; read)")                    \
    X("stress relaxation", "press to 25 % at 1 %/s, hold for 24 h",                                \
      "25 % within 30 s, then the force over a day, as ISO 3384-1 (scope read, numbers from "      \
      "memory; its first reading is after 30 min)")                                                \
    X("three preloads and a measured cycle",                                                       \
      "repeat 4, press to 70 % at 100 mm/min, release at 100 mm/min, end",                         \
      "three presses to 70 % at 100 mm/min and the fourth measured, as ISO 3386-1 (three "         \
      "preloads, 70 % and speed read); cycle_* figures are of the fourth")                         \
    X("two preloads and a held press",                                                             \
      "repeat 2, press to 75 % at 250 mm/min, release at 250 mm/min, end, rest for 6 min, press "  \
      "to 50 % at 50 mm/min, hold for 60 s",                                                       \
      "twice 75 %, 6 min of rest, then 50 % read after 60 s, as ASTM D3574 test C (pattern read "  \
      "for its indentation twin B1; 50 %, 50 mm/min and 60 s read, 250 mm/min from memory)")       \
    X("two preloads and 25 and 65 %",                                                              \
      "repeat 2, press to 75 % at 250 mm/min, release at 250 mm/min, end, rest for 6 min, press "  \
      "to 25 % at 50 mm/min, hold for 60 s, press to 65 % at 50 mm/min, hold for 60 s",            \
      "the same read at 25 and 65 %, for the support factor, as ASTM D3574 test B1 (read; that "   \
      "test indents, this one presses the whole face)")                                            \
    X("four cycles to 25 %", "repeat 4, press to 25 % at 10 mm/min, release at 10 mm/min, end",    \
      "three presses to 25 % and a fourth that is read at 10 and 20 %, as ISO 7743 (numbers from " \
      "memory)")                                                                                   \
    X("three presses at 12 mm/min",                                                                \
      "repeat 3, press to 30 % at 12 mm/min, release at 12 mm/min, end",                           \
      "the third press is read, as ASTM D575 method A (cycles and speed read; the strain is the "  \
      "user's)")                                                                                   \
    X("five drops", "repeat 5, drop 1 kg from 300 mm, rest for 1 min, end",                        \
      "a guided mass falls five times, a minute apart; the first and the mean of the others are "  \
      "read, as ASTM D1596 (mass, fall height and peak read; five drops and their pause from "     \
      "memory; mass and height are the user's)")

#endif
