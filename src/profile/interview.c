/* The questions that make a profile: see interview.h. What only the rule in hand or the job knows
 * (its finest division, the finest turn of a hand, the rounds) is no number of a manual and is not
 * asked. */
#include "profile/interview.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "profile/field.h"

/* ---- which are wanted --------------------------------------------------------------------- */

static bool is_screw(const struct profile *profile)
{
    return profile->stem == PROFILE_STEM_SCREW;
}

static bool is_screw_without_pitch(const struct profile *profile)
{
    return is_screw(profile) && !profile->stem_pitch.known;
}

static bool is_eccentric(const struct profile *profile)
{
    return profile->stem == PROFILE_STEM_ECCENTRIC;
}

static bool has_travel(const struct profile *profile)
{
    return profile->stem_pitch.known;
}

static bool may_have_cable(const struct profile *profile)
{
    return profile->clutch != PROFILE_CLUTCH_HYDRAULIC;
}

static bool is_hydraulic(const struct profile *profile)
{
    return profile->clutch == PROFILE_CLUTCH_HYDRAULIC;
}

/* ---- answers that are no field as they stand ---------------------------------------------- */

static void take_page(struct profile *profile, const struct language_value *value)
{
    struct text text = text_into(profile->source, sizeof profile->source);
    text_add(&text, "service manual");
    if (value->type == LANGUAGE_DIGITS)
        text_addf(&text, ", page %s", value->as.digits);
}

/* Threads to the inch: a pitch of one inch by that. */
static void take_threads(struct profile *profile, const struct language_value *value)
{
    profile->stem_pitch.known = value->type == LANGUAGE_NUMBER && value->as.number > 0;
    if (profile->stem_pitch.known)
        profile->stem_pitch.value = measure_length_of(1, value->as.number, MEASURE_INCH);
}

/* clang-format off */
const struct profile_question profile_questions[] = {
    {"page", NULL, NULL, "order", NULL, take_page},

    {"stem", "stem", "kind", "stem", NULL, NULL},
    {"threads", NULL, NULL, "number", is_screw, take_threads},
    {"pitch", "stem", "pitch", "distance", is_screw_without_pitch, NULL},
    {"throw", "stem", "throw", "distance", is_eccentric, NULL},
    {"lever_ratio", "stem", "lever_ratio", "ratio", has_travel, NULL},
    {"sense", "stem", "sense", "sense", NULL, NULL},
    {"stem_size", "stem", "across_flats", "distance", NULL, NULL},
    {"increment", "stem", "increment", "turns", NULL, NULL},
    {"total", "stem", "total", "turns", NULL, NULL},

    {"nut_size", "lock_nut", "across_flats", "distance", NULL, NULL},
    {"nut_torque", "lock_nut", "torque_nm", "torque", NULL, NULL},

    {"tolerance", "pawl", "tolerance", "distance", NULL, NULL},
    {"gear", "pawl", "gear", "item", NULL, NULL},

    {"clutch", "clutch", "kind", "clutch", NULL, NULL},
    {"free_play_low", "clutch", "free_play_low", "distance", may_have_cable, NULL},
    {"free_play_high", "clutch", "free_play_high", "distance", may_have_cable, NULL},
    {"adjuster_low", "clutch", "adjuster_low", "turns", may_have_cable, NULL},
    {"adjuster_high", "clutch", "adjuster_high", "turns", may_have_cable, NULL},
    {"travel_low", "clutch", "travel_low", "distance", is_hydraulic, NULL},
    {"travel_high", "clutch", "travel_high", "distance", is_hydraulic, NULL},

    {"idle_low", "idle", "low_rpm", "rpm", NULL, NULL},
    {"idle_high", "idle", "high_rpm", "rpm", NULL, NULL},
    {"linkage_play", "linkage", "play_high", "distance", NULL, NULL},
    {"fluid_low", "primary", "low_ml", "volume", NULL, NULL},
    {"fluid_high", "primary", "high_ml", "volume", NULL, NULL},

    {"plates", "pack", "plates", "count", NULL, NULL},
    {"plate_low", "pack", "plate_low", "distance", NULL, NULL},
    {"plate_high", "pack", "plate_high", "distance", NULL, NULL},
    {"stack_low", "pack", "stack_low", "distance", NULL, NULL},
    {"stack_high", "pack", "stack_high", "distance", NULL, NULL},
    {"warp_high", "pack", "warp_high", "distance", NULL, NULL},
};
/* clang-format on */
const size_t profile_questions_n = sizeof profile_questions / sizeof profile_questions[0];

/* ---- walking ------------------------------------------------------------------------------ */

static bool is_wanted(const struct profile_interview *interview, size_t row)
{
    const struct profile_question *question = &profile_questions[row];
    return question->wanted == NULL || question->wanted(&interview->profile);
}

static void pass_over(struct profile_interview *interview)
{
    while (interview->at < profile_questions_n && !is_wanted(interview, interview->at))
        interview->at++;
}

void profile_interview_begin(struct profile_interview *interview)
{
    interview->at = interview->asked_n = 0;
    pass_over(interview);
}

const struct profile_question *profile_interview_question(const struct profile_interview *interview)
{
    return interview->at < profile_questions_n ? &profile_questions[interview->at] : NULL;
}

void profile_interview_where(const struct profile_interview *interview, size_t *which, size_t *of)
{
    *which = *of = 0;
    for (size_t i = 0; i < profile_questions_n; i++) {
        bool asked = is_wanted(interview, i) || i == interview->at;
        *of += asked;
        *which += asked && i <= interview->at;
    }
}

/* ---- answers ------------------------------------------------------------------------------ */

static const struct profile_field *field_of(const struct profile_question *question)
{
    return question->key == NULL
               ? NULL
               : &profile_fields[profile_field_find(question->section, question->key)];
}

static void forget(struct profile *profile, const struct profile_question *question)
{
    static const struct language_value nothing = {.type = LANGUAGE_SKIP};
    const struct profile_field *field = field_of(question);
    if (field == NULL)
        question->take(profile, &nothing);
    else if (field->kind == PROFILE_FIELD_LENGTH)
        profile_field_length(profile, field)->known = false;
    else if (field->kind == PROFILE_FIELD_NUMBER)
        profile_field_number(profile, field)->known = false;
    else if (field->kind == PROFILE_FIELD_WORD)
        field->set_word(profile, 0);
}

static bool is_within(const struct profile_field *field, double value, char why[PROFILE_WHY])
{
    if (value >= field->low && value <= field->high && (!field->whole || value == floor(value)))
        return true;
    struct text text = text_into(why, PROFILE_WHY);
    text_addf(&text, "It must be %s: look it up in the manual.", field->range);
    return false;
}

static bool take_number(struct profile_number *number, const struct profile_field *field,
                        const struct language_value *value, char why[PROFILE_WHY])
{
    double is = value->type == LANGUAGE_AMOUNT ? language_amount_value(value->as.amount)
                                               : (double)value->as.number;
    *number = (struct profile_number){.known = true, .value = is};
    return is_within(field, is, why);
}

/* The answer into the field, whatever the value is: `value` is of the question's own grammar. */
static bool fill(struct profile *profile, const struct profile_question *question,
                 const struct language_value *value, char why[PROFILE_WHY])
{
    const struct profile_field *field = field_of(question);
    if (field == NULL) {
        question->take(profile, value);
        return true;
    }
    switch (value->type) {
    case LANGUAGE_DISTANCE:
        *profile_field_length(profile, field) =
            (struct profile_length){.known = true, .value = value->as.length};
        return is_within(field, measure_length_mm(value->as.length), why);
    case LANGUAGE_AMOUNT:
    case LANGUAGE_NUMBER:
        return take_number(profile_field_number(profile, field), field, value, why);
    case LANGUAGE_CHOICE:
        field->set_word(profile, value->as.choice + 1);
        return true;
    default:
        break;
    }
    text_copy(why, PROFILE_WHY, "That is no answer here.");
    return false;
}

/* A rule's sentence names keys of the file with small letters: it begins one here. */
static void as_a_sentence(char why[PROFILE_WHY])
{
    text_begin_sentence(why);
    for (char *at = why; *at != '\0'; at++)
        if (*at == '_')
            *at = ' ';
}

bool profile_interview_answer(struct profile_interview *interview,
                              const struct language_value *value, char why[PROFILE_WHY])
{
    const struct profile_question *question = profile_interview_question(interview);
    bool skipped = value->type == LANGUAGE_SKIP || value->type == LANGUAGE_DONT_KNOW;
    struct profile with = interview->profile;
    why[0] = '\0';
    if (question == NULL)
        return true;
    if (skipped)
        forget(&with, question);
    else if (!fill(&with, question, value, why))
        return false;
    if (!skipped && profile_rule_broken(&with, why) < profile_rules_n) {
        as_a_sentence(why);
        return false;
    }
    interview->profile = with;
    if (interview->asked_n < PROFILE_QUESTIONS_MAX)
        interview->asked[interview->asked_n++] = interview->at;
    interview->at++;
    pass_over(interview);
    return true;
}

bool profile_interview_back(struct profile_interview *interview)
{
    if (interview->asked_n == 0)
        return false;
    interview->at = interview->asked[--interview->asked_n];
    forget(&interview->profile, &profile_questions[interview->at]);
    return true;
}

/* ---- drafts ------------------------------------------------------------------------------- */

/* The rows by their names, so that a draft outlives a change of the table. */
bool profile_interview_save(const struct profile_interview *interview, char *out, size_t size)
{
    char flat[PROFILE_FLAT];
    struct text text = text_into(out, size);
    text_add(&text, "asked");
    for (size_t i = 0; i < interview->asked_n; i++)
        text_addf(&text, " %s", profile_questions[interview->asked[i]].id);
    text_add(&text, "\n");
    if (!profile_to_text(&interview->profile, flat, sizeof flat))
        return false;
    text_add(&text, flat);
    return !text.cut;
}

static size_t row_named(const char *name, size_t length)
{
    size_t row = 0;
    while (row < profile_questions_n && (strlen(profile_questions[row].id) != length ||
                                         memcmp(profile_questions[row].id, name, length) != 0))
        row++;
    return row;
}

bool profile_interview_restore(struct profile_interview *interview, const char *draft)
{
    static const char head[] = "asked";
    struct profile_interview read = {.at = 0};
    const char *end = strchr(draft, '\n');
    if (end == NULL || strncmp(draft, head, sizeof head - 1) != 0 ||
        !profile_from_text(end + 1, &read.profile, NULL))
        return false;
    for (const char *at = draft + sizeof head - 1; at < end;) {
        size_t length = strcspn(at + 1, " \n");
        size_t row = row_named(at + 1, length);
        if (*at != ' ' || row == profile_questions_n || read.asked_n == PROFILE_QUESTIONS_MAX)
            return false;
        read.asked[read.asked_n++] = row;
        read.at = row + 1;
        at += 1 + length;
    }
    *interview = read;
    pass_over(interview);
    return true;
}

size_t profile_known(const struct profile *profile)
{
    struct profile copy = *profile; /* the table's accessors are for writing too */
    size_t known = 0;
    for (size_t i = 0; i < profile_fields_n; i++) {
        const struct profile_field *field = &profile_fields[i];
        if (strcmp(field->section, "bike") == 0 || strcmp(field->key, "throw") == 0)
            continue; /* the throw is the pitch's member */
        if (field->kind == PROFILE_FIELD_TEXT)
            known += profile_field_text(&copy, field)[0] != '\0';
        else if (field->kind == PROFILE_FIELD_LENGTH)
            known += profile_field_length(&copy, field)->known;
        else if (field->kind == PROFILE_FIELD_NUMBER)
            known += profile_field_number(&copy, field)->known;
        else
            known += field->word(&copy) != 0;
    }
    return known;
}

/* ---- the file ----------------------------------------------------------------------------- */

/* Nine decimals at most, no more than needed: what profile_number_parse takes. */
static void add_number(struct text *text, double number)
{
    char figures[32];
    struct text out = text_into(figures, sizeof figures);
    text_addf(&out, "%.9f", number);
    size_t n = strlen(figures);
    while (n > 1 && figures[n - 1] == '0')
        n--;
    if (figures[n - 1] == '.')
        n--;
    text_add_n(text, figures, n);
}

static void add_value(struct text *text, struct profile *profile, const struct profile_field *field)
{
    char length[64];
    switch (field->kind) {
    case PROFILE_FIELD_TEXT: {
        const char *words = profile_field_text(profile, field);
        text_add(text, words[0] != '\0' ? words : "unknown");
        return;
    }
    case PROFILE_FIELD_LENGTH:
        if (!profile_field_length(profile, field)->known)
            break;
        measure_length_print(profile_field_length(profile, field)->value, length, sizeof length);
        text_add(text, length);
        return;
    case PROFILE_FIELD_NUMBER:
        if (!profile_field_number(profile, field)->known)
            break;
        add_number(text, profile_field_number(profile, field)->value);
        return;
    case PROFILE_FIELD_WORD:
        text_add(text, field->words[field->word(profile)]);
        return;
    }
    text_add(text, "unknown");
}

/* A stem has a pitch or a throw: the other line is left out. */
static bool goes_out(const struct profile *profile, const struct profile_field *field)
{
    if (strcmp(field->section, "stem") != 0)
        return true;
    return strcmp(field->key, is_eccentric(profile) ? "pitch" : "throw") != 0;
}

bool profile_write(const struct profile *profile, char *out, size_t size)
{
    struct profile copy = *profile;
    struct text text = text_into(out, size);
    const char *section = "";
    text_add(&text,
             "# Numbers of a service manual. What is unknown is asked for when a job needs it; "
             "what each\n# key means is in the manual page midthrow(1). After a change: "
             "midthrow profile check FILE\n");
    for (size_t i = 0; i < profile_fields_n; i++) {
        const struct profile_field *field = &profile_fields[i];
        if (!goes_out(profile, field))
            continue;
        if (strcmp(field->section, section) != 0)
            text_addf(&text, "\n[%s]\n", field->section);
        section = field->section;
        text_addf(&text, "%s = ", field->key);
        add_value(&text, &copy, field);
        text_add(&text, "\n");
    }
    return !text.cut;
}
