/* Filaments by name: files of material keys, each with the source of its values; taken into the
 * program by the assembler. */
#ifndef SP_FILAMENT_H
#define SP_FILAMENT_H

#include <strutpress/case.h>

/* Fill what the case leaves out of its material from material.filament, a name of the list or a
 * file of the same form. Given keys stay. Errors: SP_BAD_CASE, SP_NO_READ, SP_NO_MEMORY. */
sp_status sp_filament_apply(sp_context *context, sp_case *request);

#endif
