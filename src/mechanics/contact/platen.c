/* The layer between a contact point and a platen, in the plane and in space (E10). */
#include "contact/parts.h"

int sp_contact_press_platen(sp_contact *contact, const sp_platen_point *point,
                            sp_platen_layer *layer)
{
    const sp_model *model = contact->model;
    const double d = point->distance;
    *layer = (sp_platen_layer){0};
    if (d >= 0.5 * sp_model_piece_thickness(model, point->segment)) return 0;
    const double rest = sp_contact_platen_layer(model, point->segment, point->height, point->upper);
    if (rest <= 0 || d >= rest) return 0;
    if (d <= 0) {
        layer->energy = INFINITY;
        return 0;
    }
    const double k = sp_contact_weight(model, point->points, point->segment, point->width);
    double w[3];
    sp_layer_smooth(point->faces, d / rest, w);
    if (contact->layers.on &&
        !sp_contact_relax(contact,
                          sp_contact_platen_place(point->segment, point->upper, point->level,
                                                  point->place, point->spread),
                          k * rest, 1, w, w + 1, w + 2))
        return 0;
    const double push = -k * w[1];
    *layer = (sp_platen_layer){.energy = k * rest * w[0],
                               .push = push,
                               .slope = point->upper ? push : -push,
                               .stiffness = k * w[2] / rest,
                               .grip = k / rest};
    return 1;
}

void sp_contact_pull_platen_nodes(sp_contact *contact, const sp_platen_point *point,
                                  const sp_platen_layer *layer, int side, const double *dy,
                                  double *gradient, double *coupling, sp_platen_push *push)
{
    const sp_model *model = contact->model;
    double moved = 0; /* of the height of the point goes down with the upper platen */
    for (int i = 0; i < 2; i++) {
        const int first = side * model->point_node[point->segment + i];
        if (model->hold[first + 1] == SP_MOVED) moved += dy[side * i + 1];
        for (int r = 0; r < side; r++) {
            const int unknown = model->unknown[first + r];
            gradient[first + r] += layer->slope * dy[side * i + r];
            if (point->upper && unknown >= 0) /* the upper platen comes down */
                coupling[unknown] += layer->stiffness * dy[side * i + r];
        }
    }
    if (point->upper) {
        push->upper += layer->push;
        push->tangent += layer->stiffness * (1 - 2 * moved);
    } else {
        push->lower += layer->push;
    }
    contact->active++;
}
