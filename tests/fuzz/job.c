/*
 * Any stream of events through job_step. The input is a little program, one event a line:
 *
 *     =N       the simulated technician answers N times (a digit; none: once)
 *     aWORDS   accepted      uWORDS|OTHER   unsure      rWORDS   rejected      pKEYS   pad keys
 *     cN       the phrase N of the cautions, accepted; C: the one that is awaited
 *     R L O F  resumed, left (hung up), opened again, profile failed
 *     P p      a profile is read: the one asked for, or another
 *     M        reminded       tN  the clock jumps back or forth       eN  the ear changed
 *
 * Checked after every event: effects are valid and can be said, hands go nowhere without their
 * cautions, nothing grows past its bounds. Checked at the end: the same events give the same job.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../job/technician.h"
#include "fuzz.h"
#include "job/question.h"
#include "keypad/keypad.h"
#include "prompt/prompt.h"

enum { EVENTS_MAX = 700 };

static struct job job;
static struct job_effects effects;
static struct technician technician;
static struct job_event *events;
static size_t events_n;
static uint64_t heard; /* a hash of all effects so far */

static void hash(const void *bytes, size_t n)
{
    for (size_t i = 0; i < n; i++)
        heard = (heard ^ ((const unsigned char *)bytes)[i]) * UINT64_C(1099511628211);
}

static void check_said(const struct prompt_catalogue *prompts, const struct job_effect *effect)
{
    struct prompt_argument argument[JOB_ARGUMENTS_MAX + 1];
    size_t n = 0;
    for (; n < effect->arguments; n++) {
        FUZZ_PROMISED(memchr(effect->argument[n].value, '\0', JOB_ARGUMENT) != NULL);
        argument[n].name = effect->argument[n].name;
        snprintf(argument[n].value, sizeof argument[n].value, "%s", effect->argument[n].value);
    }
    argument[n].name = "keys";
    snprintf(argument[n].value, sizeof argument[n].value, "1 yes, 2 no");
    char sentence[PROMPT_SENTENCE];
    struct fault fault;
    bool filled =
        prompt_fill(prompts, effect->key, argument, n + 1, sentence, sizeof sentence, &fault);
    if (!filled)
        fprintf(stderr, "%s\n", fault.sentence);
    FUZZ_PROMISED(filled);
}

static void check_effects(void)
{
    static struct prompt_catalogue *prompts;
    if (prompts == NULL)
        prompts = prompt_load(MIDTHROW_SOURCE_DIR "/prompts", NULL);
    FUZZ_PROMISED(prompts != NULL && effects.n < JOB_EFFECTS_MAX);
    for (size_t i = 0; i < effects.n; i++) {
        const struct job_effect *effect = &effects.effect[i];
        FUZZ_PROMISED(effect->arguments < JOB_ARGUMENTS_MAX);
        hash(&effect->kind, sizeof effect->kind);
        hash(effect->key, strlen(effect->key));
        for (size_t j = 0; j < effect->arguments; j++)
            hash(effect->argument[j].value, strlen(effect->argument[j].value));
        if (effect->kind == JOB_SAY)
            check_said(prompts, effect);
        enum language_type type;
        if (effect->kind == JOB_LISTEN)
            FUZZ_PROMISED(language_grammar_type(effect->grammar, &type));
        if (effect->kind == JOB_REMIND)
            FUZZ_PROMISED(effect->delay_ms > 0);
    }
}

/* Before walk 8 a proof with the engine off asked neither for straps nor for a clear wheel. */
static unsigned needed(const struct job_question *row)
{
    bool old_proof =
        job.walk < 8 && row->phase == JOB_PROVING && (row->needs & JOB_BIT(ENGINE_OFF)) != 0;
    return old_proof ? row->needs & ~(JOB_BIT(BIKE_STRAPPED) | JOB_BIT(WHEEL_CLEAR)) : row->needs;
}

static void check_bounds(void)
{
    const struct job_question *row = job_question_at(job.question);
    FUZZ_PROMISED(row != NULL && (unsigned)job.phase < JOB_PHASE_COUNT);
    FUZZ_PROMISED(job.answers <= JOB_ANSWERS_MAX && job.cautions <= JOB_CAUTIONS_MAX);
    FUZZ_PROMISED(job.corrections <= JOB_CORRECTIONS_MAX && job.checks <= JOB_CHECKS_MAX);
    FUZZ_PROMISED(job.rounds >= 0 && job.rounds <= JOB_ROUNDS_MAX);
    FUZZ_PROMISED(job.tries >= 0 && job.tries <= JOB_TRIES_MAX + 1);
    FUZZ_PROMISED(job.reading.n <= MEASURE_READINGS_MAX && job.count.n <= MEASURE_READINGS_MAX);
    FUZZ_PROMISED(job.plates <= MEASURE_PLATES_MAX && job.proofs <= JOB_PROOFS_MAX);
    for (int i = 0; i < job.rounds; i++)
        FUZZ_PROMISED(job.round[i].forward.n <= MEASURE_READINGS_MAX &&
                      job.round[i].back.n <= MEASURE_READINGS_MAX);
    if (job.opened_ms != 0 && !job_is_closed(&job) && row->grammar != NULL)
        FUZZ_PROMISED((needed(row) & ~job.safe) == 0);
    if (job.mode == JOB_ASKING && job.opened_ms != 0)
        FUZZ_PROMISED(row->grammar != NULL);
}

static void step(struct job_event *event)
{
    if (events_n == EVENTS_MAX)
        return;
    events[events_n++] = *event;
    job_step(&job, event, &effects);
    check_effects();
    check_bounds();
}

static void open_job(struct job_event *event, unsigned names)
{
    event->kind = JOB_OPENED;
    event->walk = JOB_WALK - (int)(names / 3) % JOB_WALK;
    event->names_n = names % 3;
    for (size_t i = 0; i < event->names_n; i++)
        snprintf(event->names[i], sizeof event->names[i], "%s", i == 0 ? "simulated" : "another");
}

static void read_profile(struct job_event *event, bool right)
{
    event->kind = JOB_PROFILE_READ;
    technician_profile(&technician, &event->profile);
    snprintf(event->profile.name, sizeof event->profile.name, "%s",
             right ? job.wanted_profile : "unasked");
}

static void answer(struct job_event *event)
{
    bool can = job.opened_ms != 0 && !job_has_left(&job) && job.mode != JOB_FETCHING;
    if (job.mode == JOB_FETCHING)
        read_profile(event, true);
    else if (can)
        technician_answer(&technician, &job, event);
}

static void take_words(struct job_event *event, const char *line)
{
    const char *bar = strchr(line, '|');
    size_t length = bar == NULL ? strlen(line) : (size_t)(bar - line);
    snprintf(event->words, sizeof event->words, "%.*s", (int)length, line);
    snprintf(event->other, sizeof event->other, "%s", bar == NULL ? "" : bar + 1);
}

static void take_keys(struct job_event *event, const char *keys)
{
    char why[LANGUAGE_WHY];
    event->source = JOB_BY_PAD;
    snprintf(event->keys, sizeof event->keys, "%s", keys);
    keypad_entry(job_grammar(&job), keys, event->words, why);
}

static void take_phrase(struct job_event *event, int phrase)
{
    snprintf(event->words, sizeof event->words, "%s",
             language_phrase_words((enum language_phrase)(phrase % LANGUAGE_PHRASE_COUNT)));
}

static int digit(char c)
{
    return c >= '0' && c <= '9' ? c - '0' : c >= 'a' && c <= 'z' ? c - 'a' + 10 : 0;
}

static void run_line(const char *line)
{
    static struct job_event event;
    memset(&event, 0, sizeof event);
    event.kind = JOB_HEARD;
    event.at_ms = job.now_ms + 1000;
    switch (line[0]) {
    case '=':
        for (int n = digit(line[1]); n > 1; n--) {
            memset(&event, 0, sizeof event);
            answer(&event);
            step(&event);
        }
        memset(&event, 0, sizeof event);
        answer(&event);
        break;
    case 'u':
        event.verdict = JOB_UNSURE;
        take_words(&event, line + 1);
        break;
    case 'r':
        event.verdict = JOB_REJECTED;
        take_words(&event, line + 1);
        break;
    case 'p':
        take_keys(&event, line + 1);
        break;
    case 'c':
        take_phrase(&event, digit(line[1]));
        break;
    case 'C':
        take_phrase(&event, (int)job_phrase(&job));
        break;
    case 'R':
        event.kind = JOB_RESUMED;
        break;
    case 'L':
        event.kind = JOB_HUNG_UP;
        break;
    case 'O':
        open_job(&event, (unsigned)digit(line[1]));
        break;
    case 'F':
        event.kind = JOB_PROFILE_FAILED;
        snprintf(event.words, sizeof event.words, "%s", line + 1);
        break;
    case 'P':
    case 'q':
        read_profile(&event, line[0] == 'P');
        break;
    case 'M':
        event.kind = JOB_REMINDED;
        break;
    case 'e':
        event.kind = JOB_EAR_CHANGED;
        event.ear = (enum job_ear)digit(line[1]);
        break;
    case 't':
        event.at_ms = job.now_ms + (int64_t)(digit(line[1]) - 5) * INT64_C(1000000000);
        break;
    default:
        take_words(&event, line[0] == 'a' ? line + 1 : line);
        break;
    }
    step(&event);
}

static void replay(void)
{
    static struct job first;
    uint64_t then = heard;
    first = job;
    heard = 0;
    job_init(&job);
    for (size_t i = 0; i < events_n; i++) {
        job_step(&job, &events[i], &effects);
        check_effects();
    }
    FUZZ_PROMISED(heard == then);
    FUZZ_PROMISED(job.question == first.question && job.mode == first.mode);
    FUZZ_PROMISED(job.answers == first.answers && job.safe == first.safe);
    FUZZ_PROMISED(job.rounds == first.rounds && job.ending == first.ending);
    FUZZ_PROMISED(memcmp(&job.reason, &first.reason, sizeof job.reason) == 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (events == NULL)
        events = calloc(EVENTS_MAX, sizeof *events);
    FUZZ_PROMISED(events != NULL);
    events_n = 0;
    heard = 0;
    job_init(&job);
    technician_begin(&technician, size > 0 ? data[0] : 0);
    static struct job_event opened;
    memset(&opened, 0, sizeof opened);
    open_job(&opened, size > 1 ? data[1] : 1u);
    opened.at_ms = 1000000;
    step(&opened);
    char *text = size > 2 ? fuzz_text(data + 2, size - 2) : fuzz_text(data, 0);
    char *rest = NULL;
    for (char *line = strtok_r(text, "\n", &rest); line != NULL && events_n < EVENTS_MAX;
         line = strtok_r(NULL, "\n", &rest))
        run_line(line);
    free(text);
    replay();
    return 0;
}
