/* What to make of what was measured: see survey.h. The thresholds are judgement, no source, but for
 * the distance of voice and noise: of answers in pink noise half are believed at 20 dB and a tenth
 * at 10 (DEVELOPERS.md, "The ear: figures"). */
#include <stdarg.h>
#include <stdio.h>

#include "base/text.h"
#include "survey/survey.h"

/* Better than `good` is good, worse than `bad` is bad, between them is doubtful. */
struct limits {
    double good, bad;
};
static const struct limits noise_db = {-50, -35};  /* below */
static const struct limits distance_db = {20, 12}; /* voice above noise */
static const struct limits quiet_db = {-36, -46};  /* a voice so quiet that digits are lost */
static const struct limits loud_db = {-10, -4};    /* a voice so loud that it will clip */
static const struct limits clipped = {0, 1e-3};    /* share of samples */
static const struct limits echo_db = {-15, -3};    /* heard over played */
static const struct limits missed = {0, 0.02};     /* share of calls; of sound that is lost */
static const struct limits disk_mb = {500, 50};    /* a job is well below one */

static enum survey_verdict below(double value, struct limits limits)
{
    return value <= limits.good ? SURVEY_GOOD : value <= limits.bad ? SURVEY_DOUBTFUL : SURVEY_BAD;
}

static enum survey_verdict above(double value, struct limits limits)
{
    return value >= limits.good ? SURVEY_GOOD : value >= limits.bad ? SURVEY_DOUBTFUL : SURVEY_BAD;
}

const char *survey_verdict_name(enum survey_verdict verdict)
{
    static const char *const names[] = {"good", "doubtful", "bad", "missing"};
    return names[verdict];
}

struct survey_item *survey_add(struct survey_items *items, const char *name,
                               enum survey_verdict verdict)
{
    size_t at = items->n < SURVEY_ITEMS_MAX ? items->n++ : SURVEY_ITEMS_MAX - 1;
    items->item[at] = (struct survey_item){.name = name, .verdict = verdict};
    return &items->item[at];
}

static void found(struct survey_item *item, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
static void found(struct survey_item *item, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(item->found, sizeof item->found, format, arguments);
    va_end(arguments);
}

/* Said only when all is not well. */
static void todo(struct survey_item *item, const char *sentence)
{
    if (item->verdict != SURVEY_GOOD)
        text_copy(item->todo, sizeof item->todo, sentence);
}

static void measured(struct survey_item *item, size_t which, const char *name, double value)
{
    item->measure[which].name = name;
    item->measure[which].value = value;
}

/* ---- sound -------------------------------------------------------------------------------- */

/* Is there anything to measure with? */
static bool judge_microphone(const struct survey_sound *sound, struct survey_items *items)
{
    bool there = sound->devices.microphone == AUDIO_PRESENT;
    bool works = there && sound->heard_anything && !sound->floor.dead;
    struct survey_item *item = survey_add(items, "microphone",
                                          works   ? SURVEY_GOOD
                                          : there ? SURVEY_BAD
                                                  : SURVEY_MISSING);
    if (works)
        found(item, "%s gives sound", sound->devices.microphone_name);
    else if (there)
        found(item, "%s gives no sound at all, not even noise", sound->devices.microphone_name);
    else
        found(item, "none");
    if (there)
        todo(item, "See that it is not muted, that its switch is on and that it is the right one: "
                   "'midthrow devices' lists them, --microphone chooses.");
    else
        todo(item, sound->devices.microphone_why[0] != '\0'
                       ? sound->devices.microphone_why
                       : "Plug one in, or work with the number pad.");
    return works;
}

static void judge_noise(const struct survey_sound *sound, struct survey_items *items)
{
    double level = sound->floor.level_db;
    struct survey_item *item = survey_add(items, "noise floor", below(level, noise_db));
    found(item, "%.0f dBFS when nobody speaks", level);
    measured(item, 0, "level_dbfs", level);
    measured(item, 1, "peak_dbfs", sound->floor.peak_db);
    todo(item, "Turn off the compressor, the fan or the radio, take a headset with a boom, or turn "
               "the microphone down; else use the number pad.");
}

static void judge_voice(const struct survey_sound *sound, struct survey_items *items)
{
    double level = sound->speech.level_db, distance = level - sound->floor.level_db;
    bool spoke = sound->speech.activity > 0.05 && distance > 3;
    enum survey_verdict verdict = SURVEY_BAD;
    if (spoke) {
        enum survey_verdict parts[] = {above(level, quiet_db), below(level, loud_db),
                                       above(distance, distance_db)};
        verdict = SURVEY_GOOD;
        for (size_t i = 0; i < 3; i++)
            verdict = parts[i] > verdict ? parts[i] : verdict;
    }
    struct survey_item *item = survey_add(items, "voice", verdict);
    measured(item, 0, "active_speech_level_dbfs", level);
    measured(item, 1, "above_noise_db", distance);
    measured(item, 2, "activity", sound->speech.activity);
    if (!spoke) {
        found(item, "nobody was heard to speak");
        todo(item, "Say something when you are asked to; if you did, turn the microphone up.");
        return;
    }
    found(item, "%.0f dBFS while you speak, %.0f dB above the noise", level, distance);
    if (above(level, quiet_db) != SURVEY_GOOD)
        todo(item, "Turn the microphone up, or bring it nearer to the mouth.");
    else if (below(level, loud_db) != SURVEY_GOOD)
        todo(item, "Turn the microphone down.");
    else
        todo(item, "Speak up, bring the microphone nearer, or make the room quieter.");
}

static void judge_clipping(const struct survey_sound *sound, struct survey_items *items)
{
    struct survey_item *item = survey_add(items, "clipping", below(sound->clipping.share, clipped));
    if (sound->clipping.stretches == 0)
        found(item, "none");
    else
        found(item, "%zu flattened peaks, %.2f %% of the sound", sound->clipping.stretches,
              100 * sound->clipping.share);
    measured(item, 0, "share", sound->clipping.share);
    todo(item, "Turn the microphone down until nothing is flattened when you speak up.");
}

static void judge_speaker(const struct survey_sound *sound, bool hears, struct survey_items *items)
{
    bool there = sound->devices.speaker == AUDIO_PRESENT;
    enum survey_verdict verdict = !there                         ? SURVEY_MISSING
                                  : !hears || !sound->echo.heard ? SURVEY_DOUBTFUL
                                                                 : SURVEY_GOOD;
    struct survey_item *item = survey_add(items, "speaker", verdict);
    if (!there)
        found(item, "none");
    else if (!hears)
        found(item, "%s is there; without a microphone it cannot be told whether it sounds",
              sound->devices.speaker_name);
    else if (!sound->echo.heard)
        found(item, "%s is there, but the microphone did not hear it", sound->devices.speaker_name);
    else
        found(item, "%s sounds", sound->devices.speaker_name);
    if (there)
        todo(item,
             "If you heard the rising tone all is well, as with a headset; else turn it up, or "
             "choose another with --speaker.");
    else
        todo(item, sound->devices.speaker_why[0] != '\0' ? sound->devices.speaker_why
                                                         : "Plug one in, or work by the screen.");
}

static void judge_echo(const struct survey_sound *sound, struct survey_items *items)
{
    double db = sound->echo.heard ? sound->echo.db : SURVEY_SILENCE_DB;
    struct survey_item *item = survey_add(items, "echo", below(db, echo_db));
    if (!sound->echo.heard) {
        found(item, "none is heard");
        return;
    }
    found(item, "the microphone hears the speaker %.0f dB %s than what is played, after %.0f ms",
          db < 0 ? -db : db, db < 0 ? "quieter" : "louder", sound->echo.delay_ms);
    measured(item, 0, "heard_over_played_db", db);
    measured(item, 1, "delay_ms", sound->echo.delay_ms);
    measured(item, 2, "likeness", sound->echo.likeness);
    todo(item, "Turn the speaker down or move it away from the microphone, use a headset, or start "
               "with --half-duplex.");
}

/* Is the computer in time for its devices? A driver that does not count has no calls. */
static void judge_timing(const struct survey_sound *sound, struct survey_items *items)
{
    const struct audio_deadlines *ear = &sound->devices.ear_deadlines;
    const struct audio_deadlines *mouth = &sound->devices.mouth_deadlines;
    uint64_t calls = ear->calls + mouth->calls, late = ear->missed + mouth->missed;
    if (calls == 0)
        return;
    uint64_t slow = ear->slow + mouth->slow;
    double share = (double)(late + slow) / (double)calls;
    struct survey_item *item = survey_add(items, "timing", below(share, missed));
    found(item, "of %llu pieces of sound %llu came too late, %llu took too long",
          (unsigned long long)calls, (unsigned long long)late, (unsigned long long)slow);
    measured(item, 0, "calls", (double)calls);
    measured(item, 1, "missed", (double)late);
    measured(item, 2, "slow", (double)slow);
    todo(item,
         "The computer is busy, and words get holes: close other programs, or choose the sound "
         "card itself with --microphone and --speaker.");
}

void survey_judge_sound(const struct survey_sound *sound, struct survey_items *items)
{
    bool hears = sound->devices.microphone != AUDIO_UNWANTED && judge_microphone(sound, items);
    if (hears)
        judge_noise(sound, items);
    if (hears && sound->spoke) {
        judge_voice(sound, items);
        judge_clipping(sound, items);
    }
    if (sound->devices.speaker != AUDIO_UNWANTED) {
        judge_speaker(sound, hears, items);
        if (hears && sound->played)
            judge_echo(sound, items);
    }
    judge_timing(sound, items);
}

/* ---- the computer ------------------------------------------------------------------------- */

void survey_judge_disk(uint64_t free_bytes, struct survey_items *items)
{
    double mb = (double)free_bytes / 1e6;
    struct survey_item *item = survey_add(items, "disk", above(mb, disk_mb));
    if (mb >= 10000)
        found(item, "%.0f GB free", mb / 1000);
    else
        found(item, "%.0f MB free", mb);
    measured(item, 0, "free_bytes", (double)free_bytes);
    todo(item, "Free some space where the jobs are kept, or name another place with --data.");
}

void survey_judge_clock(int64_t now_s, int64_t newest_s, int64_t made_s, bool in_step,
                        struct survey_items *items)
{
    bool back = now_s < newest_s, before = now_s < made_s;
    struct survey_item *item = survey_add(items, "clock",
                                          back || before ? SURVEY_BAD
                                          : in_step      ? SURVEY_GOOD
                                                         : SURVEY_DOUBTFUL);
    if (back)
        found(item, "it is behind the newest entry of the journal by %lld s",
              (long long)(newest_s - now_s));
    else if (before)
        found(item, "it says a day before midthrow was made");
    else
        found(item, in_step ? "kept by a time server" : "not kept by a time server");
    todo(item, back || before ? "Set the clock: the record of a job bears its times."
                              : "See that it is right; without a network set it by hand.");
}

int survey_exit_code(const struct survey_items *items)
{
    enum survey_verdict worst = SURVEY_GOOD;
    for (size_t i = 0; i < items->n; i++)
        worst = items->item[i].verdict > worst ? items->item[i].verdict : worst;
    return worst == SURVEY_MISSING ? FAULT_MISSING
           : worst == SURVEY_BAD   ? FAULT_FAILED
                                   : FAULT_NONE;
}

/* ---- practice ----------------------------------------------------------------------------- */

enum survey_advice survey_advise(const struct survey_practice *practice)
{
    if (practice->said == 0 || practice->wrong * 10 > practice->said)
        return SURVEY_USE_PAD;
    if (practice->right * 10 >= practice->said * 8 && practice->wrong == 0)
        return SURVEY_USE_VOICE;
    return (practice->right + practice->asked) * 2 >= practice->said ? SURVEY_USE_BOTH
                                                                     : SURVEY_USE_PAD;
}
