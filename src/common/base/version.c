/* The version of the library that a program runs with. */
#include <strutpress/version.h>

#define TEXT_OF(number) #number
#define DOTTED(major, minor, patch) TEXT_OF(major) "." TEXT_OF(minor) "." TEXT_OF(patch)

const char *sp_version(void)
{
    return DOTTED(SP_VERSION_MAJOR, SP_VERSION_MINOR, SP_VERSION_PATCH);
}

int sp_version_number(void)
{
    return SP_VERSION_NUMBER;
}
