/* The rows of patterns and laws for people. */
#include <strutpress/inspect.h>

#include "law/law.h"
#include "pattern/pattern.h"

int sp_list_pattern_count(void)
{
    int count;
    sp_pattern_rows(&count);
    return count;
}

sp_listed sp_list_pattern_at(int row)
{
    int count;
    const sp_pattern_row *pattern = &sp_pattern_rows(&count)[row];
    return (sp_listed){pattern->name, pattern->alias, pattern->doc, ""};
}

int sp_list_law_count(void)
{
    int count;
    sp_law_rows(&count);
    return count;
}

sp_listed sp_list_law_at(int row)
{
    int count;
    const sp_law_row *law = &sp_law_rows(&count)[row];
    return (sp_listed){law->name, "", law->doc, law->needs};
}
