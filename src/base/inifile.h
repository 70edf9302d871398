/*
 * An INI file from outside, read with libinih and bounded: what a profile and a prompt file share.
 *
 *     [section]
 *     # a comment, or ; a comment
 *     key = value
 *         and, where the reader allows it, the value goes on in an indented line
 *
 * A regular file of at most INIFILE_BYTES bytes of UTF-8, lines of at most INIFILE_LINE bytes, no
 * control characters but tab and the end of a line. Everything else is refused with the file, the
 * line and what to do.
 */
#ifndef MIDTHROW_BASE_INIFILE_H
#define MIDTHROW_BASE_INIFILE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"

enum {
    INIFILE_BYTES = 64 * 1024,
    INIFILE_LINE = 196, /* libinih's own bound is 200 with the line's end and the terminator */
    INIFILE_NAME = 48,  /* of a section or a key: libinih cuts what is over 49 */
};

struct inifile_entry {
    const char *path;
    const char *section; /* "" before the first section */
    const char *key;
    const char *value; /* without the spaces around it */
    int line;          /* counted from 1 */
    bool continued;    /* an indented line: more of the entry before */
    bool commented;    /* a comment was cut off behind the value (a ';' after a space) */
};

/* Calls `each` for every entry in the order of the file. `each` returns false, with a fault, to
 * stop. */
bool inifile_read(const char *path,
                  bool (*each)(void *context, const struct inifile_entry *entry,
                               struct fault *fault),
                  void *context, struct fault *fault);

#endif
