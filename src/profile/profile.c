/* A profile from its file: every line taken by the table in field.c, then what the numbers say of
 * one another. */
#include "profile/profile.h"

#include <math.h>
#include <string.h>

#include "base/inifile.h"
#include "base/text.h"
#include "profile/agree.h"
#include "profile/field.h"

enum { FIELDS_MAX = 64 };

struct loading {
    const char *path;
    struct profile *profile;
    int line[FIELDS_MAX]; /* where each field was given; 0: not */
    void (*each)(void *context, int line, const char *sentence); /* NULL: the first fault ends it */
    void *context;
    size_t faults;
};

void profile_init(struct profile *profile)
{
    memset(profile, 0, sizeof *profile);
}

/* 3, 0.125 or 1/8, at most nine digits a part. By hand because strtod follows the locale and would
 * take "0x1p3" and "nan" too; the quotient of two whole numbers below 2^53 is correctly rounded. */
bool profile_number_parse(const char *text, double *number)
{
    static const char digits[] = "0123456789";
    double part[2] = {0, 0};
    size_t length[2] = {strspn(text, digits), 0};
    char between = text[length[0]];
    if (between == '/' || between == '.')
        length[1] = strspn(text + length[0] + 1, digits);
    size_t total = length[0] + (between == '/' || between == '.' ? 1 + length[1] : 0);
    if (text[total] != '\0' || length[0] > 9 || length[1] > 9 || length[0] + length[1] == 0)
        return false;
    for (size_t i = 0; i < length[0]; i++)
        part[0] = part[0] * 10 + (text[i] - '0');
    double scale = 1;
    for (size_t i = 0; i < length[1]; i++) {
        part[1] = part[1] * 10 + (text[length[0] + 1 + i] - '0');
        scale *= 10;
    }
    if (between == '/' && (length[0] == 0 || part[1] <= 0))
        return false;
    *number = between == '/' ? part[0] / part[1] : (part[0] * scale + part[1]) / scale;
    return true;
}

static bool refuse(const struct inifile_entry *entry, const char *why, const char *detail,
                   struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED, "'%s' line %d: %s in [%s] %s%s", entry->path, entry->line,
                     entry->key, entry->section, why, detail);
}

static bool refuse_range(const struct inifile_entry *entry, const struct profile_field *field,
                         struct fault *fault)
{
    char detail[96];
    struct text text = text_into(detail, sizeof detail);
    text_addf(&text, "%s: look it up in the manual.", field->range);
    return refuse(entry, "must be ", detail, fault);
}

static bool take_text(const struct inifile_entry *entry, char *to, struct fault *fault)
{
    const char *value = strcmp(entry->value, "unknown") == 0 ? "" : entry->value;
    if (!text_copy(to, PROFILE_TEXT, value))
        return refuse(entry, "is longer than 159 bytes: shorten it.", "", fault);
    return true;
}

static bool take_length(const struct inifile_entry *entry, const struct profile_field *field,
                        struct profile_length *to, struct fault *fault)
{
    struct fault why = {.code = FAULT_FAILED};
    to->known = strcmp(entry->value, "unknown") != 0;
    if (!to->known)
        return true;
    if (!measure_length_parse(entry->value, &to->value, &why))
        return refuse(entry, "cannot be read: ", why.sentence, fault);
    double mm = measure_length_mm(to->value);
    return (mm >= field->low && mm <= field->high) || refuse_range(entry, field, fault);
}

static bool take_number(const struct inifile_entry *entry, const struct profile_field *field,
                        struct profile_number *to, struct fault *fault)
{
    to->known = strcmp(entry->value, "unknown") != 0;
    if (!to->known)
        return true;
    if (!profile_number_parse(entry->value, &to->value))
        return refuse(entry, "is not a number: write it like 3, 0.125 or 1/8.", "", fault);
    bool believable = to->value >= field->low && to->value <= field->high &&
                      (!field->whole || to->value == floor(to->value));
    return believable || refuse_range(entry, field, fault);
}

static bool take_word(const struct inifile_entry *entry, const struct profile_field *field,
                      struct profile *profile, struct fault *fault)
{
    int word = profile_field_word(field, entry->value);
    if (word < 0) {
        char detail[96];
        struct text text = text_into(detail, sizeof detail);
        text_addf(&text, "'%s', '%s' or '%s'.", field->words[1], field->words[2], field->words[0]);
        return refuse(entry, "must be ", detail, fault);
    }
    field->set_word(profile, word);
    return true;
}

static bool take_value(const struct inifile_entry *entry, const struct profile_field *field,
                       struct profile *profile, struct fault *fault)
{
    switch (field->kind) {
    case PROFILE_FIELD_TEXT:
        return take_text(entry, profile_field_text(profile, field), fault);
    case PROFILE_FIELD_LENGTH:
        return take_length(entry, field, profile_field_length(profile, field), fault);
    case PROFILE_FIELD_NUMBER:
        return take_number(entry, field, profile_field_number(profile, field), fault);
    case PROFILE_FIELD_WORD:
        return take_word(entry, field, profile, fault);
    }
    return refuse(entry, "is of no known kind.", "", fault);
}

static bool refuse_unknown(const struct inifile_entry *entry, struct fault *fault)
{
    const struct profile_field *near =
        &profile_fields[profile_field_nearest(entry->section, entry->key)];
    return fault_set(fault, FAULT_FAILED,
                     "'%s' line %d: there is no key '%s' in [%s]: did you mean '%s' in [%s]?",
                     entry->path, entry->line, entry->key, entry->section, near->key,
                     near->section);
}

static bool take_entry(void *context, const struct inifile_entry *entry, struct fault *fault)
{
    struct loading *loading = context;
    if (entry->continued)
        return fault_set(fault, FAULT_FAILED,
                         "'%s' line %d begins with a space: write one 'key = value' a line, at its "
                         "start.",
                         entry->path, entry->line);
    size_t i = profile_field_find(entry->section, entry->key);
    if (i == profile_fields_n)
        return refuse_unknown(entry, fault);
    if (loading->line[i] != 0)
        return fault_set(fault, FAULT_FAILED,
                         "'%s' lines %d and %d both give '%s' in [%s]: keep one.", entry->path,
                         loading->line[i], entry->line, entry->key, entry->section);
    if (entry->value[0] == '\0')
        return refuse(entry, "has no value: give it one, or write 'unknown'.", "", fault);
    loading->line[i] = entry->line;
    return take_value(entry, &profile_fields[i], loading->profile, fault);
}

static int line_of(const struct loading *loading, const char *section, const char *key)
{
    return loading->line[profile_field_find(section, key)];
}

/* Two numbers that cannot both be right: named by the later of their lines. */
static bool refuse_pair(const struct loading *loading, int line, int other, const char *why,
                        struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED, "'%s' line %d: %s", loading->path,
                     line > other ? line : other, why);
}

static bool check_stem(const struct loading *loading, struct fault *fault)
{
    const struct profile *profile = loading->profile;
    int kind = line_of(loading, "stem", "kind");
    int pitch = line_of(loading, "stem", "pitch");
    int throw = line_of(loading, "stem", "throw");
    if (pitch != 0 && throw != 0)
        return refuse_pair(loading, pitch, throw,
                           "a stem has a pitch (screw) or a throw (eccentric), not both: keep one.",
                           fault);
    if (!profile->stem_pitch.known)
        return true;
    if (pitch != 0 && profile->stem != PROFILE_STEM_SCREW)
        return refuse_pair(loading, pitch, kind,
                           "a pitch belongs to 'kind = screw': give the kind, or take it out.",
                           fault);
    if (throw != 0 && profile->stem != PROFILE_STEM_ECCENTRIC)
        return refuse_pair(loading, throw, kind,
                           "a throw belongs to 'kind = eccentric': give the kind, or take it out.",
                           fault);
    return true;
}

/* The rule's sentence, with the last line that one of its numbers was given in. */
static bool check_rule(const struct loading *loading, const struct profile_rule *rule, int *line,
                       struct fault *fault)
{
    char why[PROFILE_WHY];
    *line = 0;
    if (!rule->broken(rule, loading->profile, why))
        return true;
    for (size_t i = 0; i < PROFILE_RULE_KEYS && rule->key[i] != NULL; i++) {
        int given = line_of(loading, rule->section, rule->key[i]);
        *line = given > *line ? given : *line;
    }
    return fault_set(fault, FAULT_FAILED, "'%s' line %d: %s", loading->path, *line, why);
}

static bool check_titles(const struct loading *loading, struct fault *fault)
{
    const struct profile *profile = loading->profile;
    if (profile->title[0] == '\0')
        return fault_set(fault, FAULT_FAILED,
                         "'%s' does not say what bike it is for: give 'title' in [bike].",
                         loading->path);
    if (profile->source[0] == '\0')
        return fault_set(fault, FAULT_FAILED,
                         "'%s' does not say where its numbers come from: give 'source' in [bike], "
                         "manual and page.",
                         loading->path);
    return true;
}

static bool take_name(const char *path, struct profile *profile, struct fault *fault)
{
    const char *slash = strrchr(path, '/');
    const char *base = slash == NULL ? path : slash + 1;
    size_t length = strlen(base);
    if (length > 4 && strcmp(base + length - 4, ".ini") == 0)
        length -= 4;
    if (length < PROFILE_NAME)
        memcpy(profile->name, base, length);
    if (!profile_is_name(profile->name))
        return fault_set(fault, FAULT_FAILED,
                         "'%s' has no name that can be used: call the file NAME.ini, at most 47 "
                         "letters, figures, - and _.",
                         path);
    return true;
}

/* Hands a fault to who wants them all; without such a one it ends the reading. */
static bool go_on(struct loading *loading, bool ok, int line, struct fault *fault)
{
    if (ok || loading->each == NULL)
        return ok;
    loading->each(loading->context, line, fault->sentence);
    loading->faults++;
    *fault = (struct fault){.code = FAULT_NONE};
    return true;
}

static bool take_entry_or_tell(void *context, const struct inifile_entry *entry,
                               struct fault *fault)
{
    struct loading *loading = context;
    return go_on(loading, take_entry(context, entry, fault), entry->line, fault);
}

static bool check_all(struct loading *loading, struct fault *fault)
{
    int line = line_of(loading, "stem", "kind"), pitch = line_of(loading, "stem", "pitch"),
        throw = line_of(loading, "stem", "throw");
    line = pitch > line ? pitch : line;
    line = throw > line ? throw : line;
    bool ok = go_on(loading, check_titles(loading, fault), 0, fault) &&
              go_on(loading, check_stem(loading, fault), line, fault);
    for (size_t i = 0; ok && i < profile_rules_n; i++) {
        bool holds = check_rule(loading, &profile_rules[i], &line, fault);
        ok = go_on(loading, holds, line, fault);
    }
    return ok;
}

static bool load(struct loading *loading, struct fault *fault)
{
    _Static_assert(FIELDS_MAX >= 37, "a line number for every field");
    profile_init(loading->profile);
    return take_name(loading->path, loading->profile, fault) &&
           inifile_read(loading->path, take_entry_or_tell, loading, fault) &&
           check_all(loading, fault);
}

bool profile_load(const char *path, struct profile *profile, struct fault *fault)
{
    struct profile read;
    struct loading loading = {.path = path, .profile = &read};
    bool ok = load(&loading, fault);
    if (ok)
        /* cppcheck-suppress uninitvar ; whole once load() says so */
        *profile = read;
    return ok;
}

size_t profile_examine(const char *path, struct profile *profile,
                       void (*each)(void *context, int line, const char *sentence), void *context)
{
    struct fault fault = {.code = FAULT_NONE};
    struct loading loading = {.path = path, .profile = profile, .each = each, .context = context};
    if (!load(&loading, &fault)) { /* what no more lines can be read after */
        each(context, 0, fault.sentence);
        loading.faults++;
    }
    return loading.faults;
}
