/* These say who presses on whom among the bars of panels. */
#ifndef SP_CONTACT_PANEL_H
#define SP_CONTACT_PANEL_H

#include "contact/parts.h"

/* Return 1 when the two bars never press on each other: parts of one panel, or of two that go on
 * into each other at a joint line, that are near each other along it; and what is a skin under an
 * edge. */
int sp_panel_is_one_body(const sp_contact *contact, int from, int to);

/* Return 1 when either is what a skin is under an edge, which presses on no wall. */
int sp_panel_is_foot(const sp_model *model, int from, int to);

/* Return the distance [mm], measured unloaded as the skin of a search is, beyond which bars press
 * on each other from where they touch. */
double sp_panel_known_reach(const sp_model *model);

/* Return 1 when the place at f of bar `from` is so near the joint line it shares with the panel of
 * bar `to` that both are one body. */
int sp_panel_is_in_joint(const sp_contact *contact, int from, double f, int to, double touch);

/* Return the width of the layer of two bars [mm]: so wide that sheets of them that lie on each
 * other are the layer of E8. E107 */
double sp_panel_pair_width(const sp_model *model, int from, int to);

#endif
