/* Text from outside as a JSON string: see json_text.h. */
#include "record/json_text.h"

#include <string.h>

#include "base/plain.h"

json_t *json_text(const char *string)
{
    char plain[JSON_TEXT];
    json_t *value = strchr(string, 0x7F) == NULL ? json_string(string) : NULL;
    return value != NULL ? value : json_string(plain_text(string, plain, sizeof plain));
}

json_t *json_text_or_null(const char *string)
{
    return string == NULL || string[0] == '\0' ? json_null() : json_text(string);
}
