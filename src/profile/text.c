/* A profile as one flat text and back, for the journal: exact, so lengths go as numerator,
 * denominator and unit, numbers with 17 digits, and bytes that would end a line or are no UTF-8 as
 * \xNN. */
#include <errno.h>
#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "base/utf8.h"
#include "profile/field.h"

static const char HEAD[] = "midthrow-profile=1\n";
static const char *const UNITS[] = {"in", "thou", "mm"}; /* enum measure_unit's order */
enum { UNITS_N = sizeof UNITS / sizeof UNITS[0] };

/* ---- out ---------------------------------------------------------------------------------------
 */

static void add_escaped(struct text *text, const char *string, size_t most)
{
    size_t length = strnlen(string, most);
    for (size_t i = 0; i < length;) {
        uint32_t point = 0;
        size_t n = utf8_next(string + i, length - i, &point);
        bool plain = n > 0 && point != '\\' && !utf8_is_control(point);
        if (plain)
            text_add_n(text, string + i, n);
        else
            text_addf(text, "\\x%02x", (unsigned char)string[i]);
        i += plain ? n : 1;
    }
}

static void add_text_line(struct text *text, const char *section, const char *key,
                          const char *string, size_t most)
{
    if (string[0] == '\0')
        return;
    text_addf(text, "%s.%s=", section, key);
    add_escaped(text, string, most);
    text_add(text, "\n");
}

/* Pitch and throw are one member: it goes out under the name that fits the stem. */
static bool goes_out(const struct profile *profile, const struct profile_field *field)
{
    if (strcmp(field->section, "stem") != 0)
        return true;
    bool eccentric = profile->stem == PROFILE_STEM_ECCENTRIC;
    return strcmp(field->key, eccentric ? "pitch" : "throw") != 0;
}

static bool add_field(struct text *text, struct profile *profile, const struct profile_field *field)
{
    switch (field->kind) {
    case PROFILE_FIELD_TEXT:
        add_text_line(text, field->section, field->key, profile_field_text(profile, field),
                      PROFILE_TEXT - 1);
        return true;
    case PROFILE_FIELD_LENGTH: {
        const struct profile_length *length = profile_field_length(profile, field);
        if (!length->known)
            return true;
        if ((unsigned)length->value.unit >= UNITS_N)
            return false;
        text_addf(text, "%s.%s=%" PRId64 "/%" PRId64 " %s\n", field->section, field->key,
                  length->value.num, length->value.den, UNITS[length->value.unit]);
        return length->value.den > 0;
    }
    case PROFILE_FIELD_NUMBER: {
        const struct profile_number *number = profile_field_number(profile, field);
        if (number->known)
            text_addf(text, "%s.%s=%.17g\n", field->section, field->key, number->value);
        return !number->known || isfinite(number->value);
    }
    case PROFILE_FIELD_WORD: {
        int word = field->word(profile);
        if (word > 0 && word < PROFILE_WORDS_MAX)
            text_addf(text, "%s.%s=%s\n", field->section, field->key, field->words[word]);
        return word >= 0 && word < PROFILE_WORDS_MAX;
    }
    }
    return false;
}

bool profile_to_text(const struct profile *profile, char *out, size_t size)
{
    struct profile copy = *profile; /* the table's accessors are for writing too */
    struct text text = text_into(out, size);
    text_add(&text, HEAD);
    add_text_line(&text, "profile", "name", copy.name, PROFILE_NAME - 1);
    for (size_t i = 0; i < profile_fields_n; i++)
        if (goes_out(&copy, &profile_fields[i]) && !add_field(&text, &copy, &profile_fields[i]))
            return false;
    return !text.cut;
}

/* ---- back --------------------------------------------------------------------------------------
 */

static int hex_digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

/* `value` is `length` bytes, not terminated. */
static bool take_escaped(const char *value, size_t length, char *to, size_t size)
{
    size_t used = 0;
    for (size_t i = 0; i < length; i++) {
        char byte = value[i];
        if (byte == '\\') {
            int high = i + 3 < length && value[i + 1] == 'x' ? hex_digit(value[i + 2]) : -1;
            int low = high < 0 ? -1 : hex_digit(value[i + 3]);
            if (low < 0 || high * 16 + low == 0)
                return false;
            byte = (char)(high * 16 + low);
            i += 3;
        }
        if (used + 1 >= size)
            return false;
        to[used++] = byte;
    }
    to[used] = '\0';
    return true;
}

static bool take_whole(const char *at, char **end, int64_t *number)
{
    errno = 0;
    intmax_t value = strtoimax(at, end, 10);
    *number = (int64_t)value;
    return *end != at && errno == 0 && value >= INT64_MIN && value <= INT64_MAX;
}

static bool take_length(const char *value, struct profile_length *to)
{
    char *end;
    if (!take_whole(value, &end, &to->value.num) || *end != '/' ||
        !take_whole(end + 1, &end, &to->value.den) || *end != ' ' || to->value.den <= 0)
        return false;
    for (size_t i = 0; i < UNITS_N; i++)
        if (strcmp(end + 1, UNITS[i]) == 0) {
            to->value.unit = (enum measure_unit)i;
            to->known = true;
            return true;
        }
    return false;
}

static bool take_number(const char *value, struct profile_number *to)
{
    char *end;
    if (value[strspn(value, "+-.0123456789e")] != '\0')
        return false;
    to->value = strtod(value, &end);
    to->known = true;
    return end != value && *end == '\0' && isfinite(to->value);
}

static bool take_field(const struct profile_field *field, const char *value, size_t length,
                       struct profile *profile)
{
    if (field->kind == PROFILE_FIELD_TEXT)
        return take_escaped(value, length, profile_field_text(profile, field), PROFILE_TEXT);
    char plain[96];
    if (!take_escaped(value, length, plain, sizeof plain))
        return false;
    if (field->kind == PROFILE_FIELD_LENGTH)
        return take_length(plain, profile_field_length(profile, field));
    if (field->kind == PROFILE_FIELD_NUMBER)
        return take_number(plain, profile_field_number(profile, field));
    int word = profile_field_word(field, plain);
    if (word > 0)
        field->set_word(profile, word);
    return word > 0;
}

/* One line, "section.key=value", without its end. */
static bool take_line(const char *line, size_t length, struct profile *profile)
{
    const char *dot = memchr(line, '.', length);
    const char *equals = memchr(line, '=', length);
    if (dot == NULL || equals == NULL || dot > equals)
        return false;
    char section[32];
    char key[32];
    size_t section_length = (size_t)(dot - line);
    size_t key_length = (size_t)(equals - dot - 1);
    if (section_length >= sizeof section || key_length >= sizeof key)
        return false;
    memcpy(section, line, section_length);
    section[section_length] = '\0';
    memcpy(key, dot + 1, key_length);
    key[key_length] = '\0';
    const char *value = equals + 1;
    size_t value_length = (size_t)(line + length - value);
    if (strcmp(section, "profile") == 0 && strcmp(key, "name") == 0)
        return take_escaped(value, value_length, profile->name, PROFILE_NAME);
    size_t field = profile_field_find(section, key);
    return field < profile_fields_n &&
           take_field(&profile_fields[field], value, value_length, profile);
}

bool profile_from_text(const char *text, struct profile *profile, struct fault *fault)
{
    if (strncmp(text, HEAD, sizeof HEAD - 1) != 0)
        return fault_set(fault, FAULT_FAILED,
                         "this is no profile text of version 1: use the midthrow that wrote it.");
    struct profile read;
    profile_init(&read);
    int number = 2;
    for (const char *line = text + sizeof HEAD - 1; *line != '\0'; number++) {
        const char *end = strchr(line, '\n');
        if (end == NULL || !take_line(line, (size_t)(end - line), &read))
            return fault_set(fault, FAULT_FAILED,
                             "line %d of a stored profile cannot be read: use the midthrow that "
                             "wrote it.",
                             number);
        line = end + 1;
    }
    *profile = read;
    return true;
}
