/* A job's event as one line of JSON and back, exact both ways: see journal.h. These names are a
 * file format: they stay as they are whatever the screen says. */
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "record/journal.h"

static const char *const KINDS[] = {"opened",   "heard",   "profile_read", "profile_failed",
                                    "reminded", "resumed", "hung_up",      "ear_changed"};
static const char *const SOURCES[] = {"ear", "typed", "pad", "station"};
static const char *const VERDICTS[] = {"accepted", "unsure", "rejected"};
static const char *const EARS[] = {"open", "missing", "silent", "clipping", "noise"};
static const char *const KEYS[] = {"deafening", "ear",   "kind",  "at_ms",      "source", "verdict",
                                   "score",     "words", "other", "keys",       "names",  "profile",
                                   "priors",    "bike",  "walk",  "likelihoods"};
enum {
    KINDS_N = sizeof KINDS / sizeof KINDS[0],
    SOURCES_N = sizeof SOURCES / sizeof SOURCES[0],
    VERDICTS_N = sizeof VERDICTS / sizeof VERDICTS[0],
    EARS_N = sizeof EARS / sizeof EARS[0],
    KEYS_N = sizeof KEYS / sizeof KEYS[0],
};

/* ---- out: NULL when it cannot be told, which spoils the object it is put in ---------------- */

/* Bytes that are no UTF-8 cannot be a JSON string: they go as {"hex": "ff00"}. */
static json_t *hex_to_json(const char *bytes, size_t length)
{
    static const char digits[] = "0123456789abcdef";
    char hex[2 * LANGUAGE_WORDS];
    if (2 * length > sizeof hex)
        return NULL;
    for (size_t i = 0; i < length; i++) {
        unsigned char byte = (unsigned char)bytes[i];
        hex[2 * i] = digits[byte >> 4];
        hex[2 * i + 1] = digits[byte & 15];
    }
    return json_pack("{s:s%}", "hex", hex, 2 * length);
}

static json_t *bytes_to_json(const char *bytes, size_t size)
{
    size_t length = strnlen(bytes, size);
    if (length == size)
        return NULL; /* not terminated */
    json_t *string = json_stringn(bytes, length);
    return string != NULL ? string : hex_to_json(bytes, length);
}

static json_t *number_to_json(double number)
{
    if (isnan(number))
        return json_string("nan");
    if (isinf(number))
        return json_string(number > 0 ? "inf" : "-inf");
    return json_real(number);
}

static json_t *names_to_json(const struct job_event *event)
{
    json_t *names = event->names_n > PROFILES_MAX ? NULL : json_array();
    for (size_t i = 0; names != NULL && i < event->names_n; i++)
        if (json_array_append_new(names, bytes_to_json(event->names[i], PROFILE_NAME)) != 0) {
            json_decref(names);
            return NULL;
        }
    return names;
}

/* By the causes' ids: a cause that a later midthrow adds does not move the others. */
static json_t *priors_to_json(const struct job_event *event)
{
    json_t *priors = json_object();
    for (int c = 0; priors != NULL && c < REASON_CAUSE_COUNT; c++)
        if (json_object_set_new(priors, reason_cause_id((enum reason_cause)c),
                                number_to_json(event->priors[c])) != 0) {
            json_decref(priors);
            return NULL;
        }
    return priors;
}

static json_t *shop_to_json(const struct reason_shop *shop)
{
    char flat[REASON_FLAT];
    return reason_shop_to_text(shop, flat, sizeof flat) ? json_string(flat) : NULL;
}

static json_t *profile_to_json(const struct profile *profile)
{
    char flat[PROFILE_FLAT];
    if (!profile_to_text(profile, flat, sizeof flat))
        return NULL;
    return bytes_to_json(flat, sizeof flat);
}

static json_t *word_to_json(const char *const *words, size_t n, size_t index)
{
    return index < n ? json_string(words[index]) : NULL;
}

/* What a kind of event leaves at zero is not written. */
static bool fill_json(json_t *object, const struct job_event *event)
{
    bool heard = event->kind == JOB_HEARD;
    bool scored = event->score != 0 || signbit(event->score);
    int bad = 0;
    bad |= json_object_set_new(object, "kind", word_to_json(KINDS, KINDS_N, event->kind));
    bad |= json_object_set_new(object, "at_ms", json_integer(event->at_ms));
    bad |= json_object_set_new(object, "source", word_to_json(SOURCES, SOURCES_N, event->source));
    if (heard || event->verdict != JOB_ACCEPTED)
        bad |= json_object_set_new(object, "verdict",
                                   word_to_json(VERDICTS, VERDICTS_N, event->verdict));
    if (heard || scored)
        bad |= json_object_set_new(object, "score", number_to_json(event->score));
    if (heard || event->words[0] != '\0')
        bad |= json_object_set_new(object, "words", bytes_to_json(event->words, LANGUAGE_WORDS));
    if (event->other[0] != '\0')
        bad |= json_object_set_new(object, "other", bytes_to_json(event->other, LANGUAGE_WORDS));
    if (event->keys[0] != '\0')
        bad |= json_object_set_new(object, "keys", bytes_to_json(event->keys, sizeof event->keys));
    if (event->deafening)
        bad |= json_object_set_new(object, "deafening", json_true());
    if (event->kind == JOB_EAR_CHANGED)
        bad |= json_object_set_new(object, "ear", word_to_json(EARS, EARS_N, event->ear));
    if (event->names_n > 0)
        bad |= json_object_set_new(object, "names", names_to_json(event));
    if (event->bike[0] != '\0')
        bad |= json_object_set_new(object, "bike", bytes_to_json(event->bike, sizeof event->bike));
    if (event->has_priors)
        bad |= json_object_set_new(object, "priors", priors_to_json(event));
    if (event->walk != 0)
        bad |= json_object_set_new(object, "walk", json_integer(event->walk));
    if (event->shop.rows != 0)
        bad |= json_object_set_new(object, "likelihoods", shop_to_json(&event->shop));
    if (event->kind == JOB_PROFILE_READ)
        bad |= json_object_set_new(object, "profile", profile_to_json(&event->profile));
    return bad == 0;
}

bool journal_event_to_json(const struct job_event *event, char *out, size_t size)
{
    if (size == 0)
        return false;
    out[0] = '\0';
    json_t *object = json_object();
    bool ok = object != NULL && fill_json(object, event);
    if (ok) {
        size_t wanted = json_dumpb(object, out, size, JSON_COMPACT | JSON_ENSURE_ASCII);
        ok = wanted > 0 && wanted < size;
        out[ok ? wanted : 0] = '\0';
    }
    json_decref(object);
    return ok;
}

/* ---- back: a key that is missing leaves its member at zero --------------------------------- */

static int hex_digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

static bool take_hex(const json_t *json, char *out, size_t size)
{
    const char *hex = json_string_value(json);
    size_t length = json_string_length(json) / 2;
    if (hex == NULL || json_string_length(json) % 2 != 0 || length >= size)
        return false;
    for (size_t i = 0; i < length; i++) {
        int high = hex_digit(hex[2 * i]);
        int low = hex_digit(hex[2 * i + 1]);
        if (high < 0 || low < 0 || high + low == 0)
            return false;
        out[i] = (char)(high * 16 + low);
    }
    out[length] = '\0';
    return true;
}

static bool take_bytes(const json_t *json, char *out, size_t size)
{
    if (json == NULL)
        return true;
    if (json_is_object(json))
        return json_object_size(json) == 1 && take_hex(json_object_get(json, "hex"), out, size);
    size_t length = json_string_length(json);
    if (!json_is_string(json) || length >= size || strlen(json_string_value(json)) != length)
        return false;
    memcpy(out, json_string_value(json), length + 1);
    return true;
}

static bool take_word(const json_t *json, const char *const *words, size_t n, size_t *index)
{
    const char *word = json_string_value(json);
    for (*index = 0; word != NULL && *index < n; ++*index)
        if (strcmp(words[*index], word) == 0)
            return true;
    return false;
}

static bool take_number(const json_t *json, double *number)
{
    const char *word = json_string_value(json);
    if (json == NULL || json_is_number(json))
        *number = json_number_value(json);
    else if (word != NULL && strcmp(word, "nan") == 0)
        *number = (double)NAN;
    else if (word != NULL && strcmp(word, "inf") == 0)
        *number = HUGE_VAL;
    else if (word != NULL && strcmp(word, "-inf") == 0)
        *number = -HUGE_VAL;
    else
        return false;
    return true;
}

static bool take_names(const json_t *json, struct job_event *event)
{
    if (json == NULL)
        return true;
    if (!json_is_array(json) || json_array_size(json) > PROFILES_MAX)
        return false;
    event->names_n = json_array_size(json);
    for (size_t i = 0; i < event->names_n; i++)
        if (!take_bytes(json_array_get(json, i), event->names[i], PROFILE_NAME))
            return false;
    return true;
}

static int cause_of(const char *id)
{
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        if (strcmp(reason_cause_id((enum reason_cause)c), id) == 0)
            return c;
    return -1;
}

/* A cause that was not known when the event was written has the table's weight, in proportion to
 * those that were. */
static void fill_priors(struct job_event *event, const bool named[REASON_CAUSE_COUNT])
{
    double here = 0;
    double table = 0;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        if (named[c]) {
            here += event->priors[c];
            table += reason_cause_weight((enum reason_cause)c);
        }
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        if (!named[c])
            event->priors[c] = reason_cause_weight((enum reason_cause)c) * here / table;
}

static bool take_priors(json_t *json, struct job_event *event)
{
    bool named[REASON_CAUSE_COUNT] = {false};
    const char *id;
    json_t *value;
    if (json == NULL)
        return true;
    if (!json_is_object(json) || json_object_size(json) == 0)
        return false;
    json_object_foreach(json, id, value)
    {
        int cause = cause_of(id);
        if (cause < 0 || !take_number(value, &event->priors[cause]))
            return false;
        named[cause] = true;
    }
    fill_priors(event, named);
    event->has_priors = true;
    return true;
}

static bool take_shop(const json_t *json, struct job_event *event)
{
    return json == NULL ||
           (json_is_string(json) && reason_shop_from_text(json_string_value(json), &event->shop));
}

/* A walk that this midthrow does not know was written by a newer one. */
static bool take_walk(const json_t *json, struct job_event *event)
{
    json_int_t walk = json_integer_value(json);
    if (json != NULL && (!json_is_integer(json) || walk < 0 || walk > JOB_WALK))
        return false;
    event->walk = (int)walk;
    return true;
}

static bool take_profile(const json_t *json, struct job_event *event)
{
    char flat[PROFILE_FLAT] = "";
    if (json == NULL)
        return event->kind != JOB_PROFILE_READ;
    return take_bytes(json, flat, sizeof flat) && profile_from_text(flat, &event->profile, NULL);
}

static bool has_only_known_keys(json_t *object)
{
    const char *key;
    json_t *value;
    json_object_foreach(object, key, value)
    {
        size_t index;
        json_t *name = json_string(key);
        bool known = take_word(name, KEYS, KEYS_N, &index);
        json_decref(name);
        if (!known)
            return false;
    }
    return true;
}

static bool take_event(json_t *object, struct job_event *event)
{
    size_t kind = 0;
    size_t source = 0;
    size_t verdict = 0;
    size_t ear = 0;
    const json_t *judged = json_object_get(object, "verdict");
    const json_t *deafening = json_object_get(object, "deafening");
    const json_t *heard_by = json_object_get(object, "ear");
    const json_t *at_ms = json_object_get(object, "at_ms");
    if (!has_only_known_keys(object) || !json_is_integer(at_ms) ||
        !take_word(json_object_get(object, "kind"), KINDS, KINDS_N, &kind) ||
        !take_word(json_object_get(object, "source"), SOURCES, SOURCES_N, &source) ||
        (judged != NULL && !take_word(judged, VERDICTS, VERDICTS_N, &verdict)) ||
        (deafening != NULL && !json_is_boolean(deafening)) ||
        (heard_by != NULL && !take_word(heard_by, EARS, EARS_N, &ear)))
        return false;
    event->kind = (enum job_event_kind)kind;
    event->source = (enum job_source)source;
    event->verdict = (enum job_verdict)verdict;
    event->at_ms = json_integer_value(at_ms);
    event->deafening = json_is_true(deafening);
    event->ear = (enum job_ear)ear;
    return take_number(json_object_get(object, "score"), &event->score) &&
           take_bytes(json_object_get(object, "words"), event->words, sizeof event->words) &&
           take_bytes(json_object_get(object, "other"), event->other, sizeof event->other) &&
           take_bytes(json_object_get(object, "keys"), event->keys, sizeof event->keys) &&
           take_names(json_object_get(object, "names"), event) &&
           take_bytes(json_object_get(object, "bike"), event->bike, sizeof event->bike) &&
           take_priors(json_object_get(object, "priors"), event) &&
           take_walk(json_object_get(object, "walk"), event) &&
           take_shop(json_object_get(object, "likelihoods"), event) &&
           take_profile(json_object_get(object, "profile"), event);
}

bool journal_event_from_json(const char *json, struct job_event *event, struct fault *fault)
{
    memset(event, 0, sizeof *event);
    bool believable = strnlen(json, JOURNAL_EVENT) < JOURNAL_EVENT;
    json_t *object = believable ? json_loads(json, JSON_REJECT_DUPLICATES, NULL) : NULL;
    bool ok = json_is_object(object) && take_event(object, event);
    json_decref(object);
    if (!ok) {
        memset(event, 0, sizeof *event);
        fault_set(fault, FAULT_FAILED,
                  "a stored event cannot be read: it is damaged, or a newer midthrow wrote it.");
    }
    return ok;
}
