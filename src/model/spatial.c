#include "model/spatial.h"

#include "base/so3.h"

/* Residual bending flexibility (MacNeal 1978) in both planes: shear along axis 2 goes with bending about axis 3. E5 */
void sp_spatial_set_shear(sp_spatial_element *element, const sp_spatial_section *section)
{
    const double l2 = element->length * element->length;
    for (int i = 0; i < 2; i++)
        element->shear[i] =
            1 / (1 / section->shear_stiffness[i] + l2 / (12 * section->bending_stiffness[1 - i]));
}

sp_spatial_element sp_spatial_piece(const sp_spatial_section *section, const double from[3],
                                    const double to[3], const double up[3])
{
    sp_spatial_element e = {0};
    const double along[3] = {to[0] - from[0], to[1] - from[1], to[2] - from[2]};
    e.length = sqrt(sp_dot(along, along));
    sp_so3_frame(along, up, e.frame);
    sp_spatial_set_shear(&e, section);
    return e;
}
