/* Filaments by name: files of material keys, each with the source of its values, which the
 * assembler takes into the program. */
#ifndef SP_FILAMENT_H
#define SP_FILAMENT_H

#include <strutpress/case.h>

/* Fill in the keys of the material that the case leaves out, from material.filament: a name of the
 * list, or a file of the same form. Keys that the case gives stay. Errors: SP_BAD_CASE, SP_NO_READ,
 * SP_NO_MEMORY. */
sp_status sp_filament_apply(sp_context *context, sp_case *request);

#endif
