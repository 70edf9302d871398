/* A profile from its file: every line taken by the table in field.c, then what the numbers say of
 * one another. */
#include "profile/profile.h"

#include <math.h>
#include <string.h>

#include "base/inifile.h"
#include "base/text.h"
#include "profile/default.h"
#include "profile/field.h"

enum { FIELDS_MAX = 64 };

struct loading {
    const char *path;
    struct profile *profile;
    int line[FIELDS_MAX]; /* where each field was given; 0: not */
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
    for (size_t i = 0; i < length[1]; i++, scale *= 10)
        part[1] = part[1] * 10 + (text[length[0] + 1 + i] - '0');
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

static double number_or(struct profile_number number, double otherwise)
{
    return number.known ? number.value : otherwise;
}

static bool check_turns(const struct loading *loading, struct fault *fault)
{
    const struct profile *profile = loading->profile;
    double step = number_or(profile->step_turns, PROFILE_DEFAULT_STEP);
    double increment = number_or(profile->increment_turns, PROFILE_DEFAULT_INCREMENT);
    double total = number_or(profile->total_turns, PROFILE_DEFAULT_TOTAL);
    int step_line = line_of(loading, "stem", "step");
    int increment_line = line_of(loading, "stem", "increment");
    int total_line = line_of(loading, "stem", "total");
    if (step > increment)
        return refuse_pair(loading, step_line, increment_line,
                           "the step is more than the increment (1/32 and 1/8 unless given): make "
                           "it smaller.",
                           fault);
    if (increment > total)
        return refuse_pair(loading, increment_line, total_line,
                           "the increment is more than the total (1/8 and 1 unless given): make it "
                           "smaller.",
                           fault);
    return true;
}

/* Limits of the same thing, the least and the most. */
static const struct {
    const char *section, *low, *high;
} pairs[] = {
    {"clutch", "free_play_low", "free_play_high"},
    {"clutch", "travel_low", "travel_high"},
    {"clutch", "adjuster_low", "adjuster_high"},
    {"idle", "low_rpm", "high_rpm"},
    {"primary", "low_ml", "high_ml"},
    {"pack", "plate_low", "plate_high"},
    {"pack", "stack_low", "stack_high"},
};

static bool is_upside_down(struct profile *profile, const struct profile_field *low,
                           const struct profile_field *high)
{
    if (low->kind == PROFILE_FIELD_NUMBER) {
        const struct profile_number *least = profile_field_number(profile, low);
        const struct profile_number *most = profile_field_number(profile, high);
        return least->known && most->known && least->value > most->value;
    }
    const struct profile_length *least = profile_field_length(profile, low);
    const struct profile_length *most = profile_field_length(profile, high);
    return least->known && most->known && measure_length_compare(least->value, most->value) > 0;
}

static bool check_pairs(const struct loading *loading, struct fault *fault)
{
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        size_t low = profile_field_find(pairs[i].section, pairs[i].low);
        size_t high = profile_field_find(pairs[i].section, pairs[i].high);
        if (!is_upside_down(loading->profile, &profile_fields[low], &profile_fields[high]))
            continue;
        char why[96];
        struct text text = text_into(why, sizeof why);
        text_addf(&text, "%s is more than %s: exchange or mend them.", pairs[i].low, pairs[i].high);
        return refuse_pair(loading, loading->line[low], loading->line[high], why, fault);
    }
    return true;
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

bool profile_load(const char *path, struct profile *profile, struct fault *fault)
{
    _Static_assert(FIELDS_MAX >= 37, "a line number for every field");
    struct profile read;
    profile_init(&read);
    struct loading loading = {.path = path, .profile = &read};
    bool ok = take_name(path, &read, fault) && inifile_read(path, take_entry, &loading, fault) &&
              check_titles(&loading, fault) && check_stem(&loading, fault) &&
              check_turns(&loading, fault) && check_pairs(&loading, fault);
    if (ok)
        *profile = read;
    return ok;
}
