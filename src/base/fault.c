/* Errors as sentences: see fault.h. */
#include "base/fault.h"

#include <stdarg.h>
#include <stdio.h>

bool fault_set(struct fault *fault, enum fault_code code, const char *format, ...)
{
    if (fault == NULL)
        return false;
    fault->code = code;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(fault->sentence, sizeof fault->sentence, format, arguments);
    va_end(arguments);
    return false;
}
