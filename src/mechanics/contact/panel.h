/* These functions say which bars of panels press on each other. */
#ifndef SP_CONTACT_PANEL_H
#define SP_CONTACT_PANEL_H

#include "contact/parts.h"

/* Return 1 when the two bars never press on each other: when they are parts of one panel, or of two
 * panels that go on into each other at a joint line, and near each other along it; or when one of
 * them belongs to the strip of a skin under an edge. */
int sp_panel_is_one_body(const sp_contact *contact, int from, int to);

/* Return 1 when either bar belongs to the strip of a skin under an edge, which presses on no
 * wall. */
int sp_panel_is_foot(const sp_model *model, int from, int to);

/* Return the distance in the unloaded coupon [mm], measured like the reach of a search, beyond
 * which bars press on each other from where they touch. */
double sp_panel_known_reach(const sp_model *model);

/* Return 1 when the place at f of bar `from` is so near the joint line it shares with the panel of
 * bar `to` that both bars are one body there. */
int sp_panel_is_in_joint(const sp_contact *contact, int from, double f, int to, double touch);

/* Return the width of the layer of two bars [mm]. With it the layers between all bars of two sheets
 * that lie on each other add up to the layer of E8. E107 */
double sp_panel_pair_width(const sp_model *model, int from, int to);

#endif
