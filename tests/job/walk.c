/* The caution walk: see walk.h. */
#include "walk.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "technician.h"

/* ---- the table ------------------------------------------------------------------------------ */

struct job_question walk_row[WALK_ROWS_MAX];
size_t walk_rows;

void walk_copy_tables(void)
{
    static const struct job_questions *const phases[] = {
        &job_card_questions,     &job_intake_questions,    &job_checks_questions,
        &job_centring_questions, &job_adjusting_questions, &job_deep_questions,
        &job_proving_questions,  &job_closing_questions,
    };
    walk_rows = 0;
    for (size_t i = 0; i < sizeof phases / sizeof phases[0]; i++)
        for (size_t j = 0; j < phases[i]->n && walk_rows < WALK_ROWS_MAX; j++)
            walk_row[walk_rows++] = phases[i]->row[j];
}

size_t job_question_count(void)
{
    return walk_rows;
}

const struct job_question *job_question_at(size_t index)
{
    return index < walk_rows ? &walk_row[index] : NULL;
}

size_t job_question_index(const char *id)
{
    size_t i = 0;
    while (i < walk_rows && strcmp(walk_row[i].id, id) != 0)
        i++;
    return i;
}

struct job_question *walk_find(const char *id)
{
    return &walk_row[job_question_index(id)];
}

static bool is_caution_grammar(const struct job_question *row)
{
    return row->grammar != NULL && strcmp(row->grammar, "caution") == 0;
}

/* Rows whose `arrive` begins a block of its own, written down once more here. */
static const char *const blocks[] = {
    "checks.free_play", "checks.fluid",  "checks.linkage",      "centring.intro", "adjusting.round",
    "deep.idle",        "deep.cable",    "deep.hydraulic",      "deep.adjuster",  "deep.change",
    "deep.pack",        "proving.intro", "proving.run_prepare",
};

static bool begins_block(const char *id)
{
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++)
        if (strcmp(blocks[i], id) == 0)
            return true;
    return false;
}

bool walk_touches(const char *id)
{
    static const char *const others[] = {
        "centring.hook",   "deep.adjuster_measure", "deep.pack_measure", "proving.run_cover",
        "deep.idle_cover", "closing.cover",         "closing.done"};
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
        if (strcmp(others[i], id) == 0)
            return true;
    return begins_block(id) || strncmp(id, "card.", 5) == 0;
}

/* ---- every way ------------------------------------------------------------------------------ */

enum { WAYS = 256, TAPE = 16384 };

/* Which way was gone at each fork of one step; then the next one. */
static struct {
    bool on;
    unsigned char chosen[WAYS], of[WAYS];
    size_t at, n;
    bool lost; /* more forks than a walk without a loop can have */
    /* instead, while answers are folded again: the ways they went the first time */
    const unsigned char *tape;
    size_t tape_at, tape_n;
    /* the rows arrived at, in order */
    uint16_t reached[WAYS];
    size_t reached_n;
} ways;

void (*walk_watch)(const struct job *job, const char *id, bool after);

void walk_every_way(bool on)
{
    ways.on = on;
}

static unsigned choose(unsigned of)
{
    if (ways.tape != NULL) {
        ways.lost = ways.lost || ways.tape_at >= ways.tape_n;
        return ways.lost ? 0 : ways.tape[ways.tape_at++];
    }
    if (ways.at == WAYS) {
        ways.lost = true;
        return 0;
    }
    if (ways.at == ways.n) {
        ways.chosen[ways.n] = 0;
        ways.of[ways.n++] = (unsigned char)of;
    }
    return ways.chosen[ways.at++];
}

/* The next combination; false when all were gone. */
static bool next_way(void)
{
    while (ways.n > 0 && ways.chosen[ways.n - 1] + 1 >= ways.of[ways.n - 1])
        ways.n--;
    if (ways.n == 0)
        return false;
    ways.chosen[ways.n - 1]++;
    return true;
}

static bool decides_by_what_is_kept(const struct job_question *row)
{
    return row->caution || row->phase == JOB_CARD;
}

bool job_row_is_wanted(const struct job *job, size_t index)
{
    const struct job_question *row = &walk_row[index];
    bool wanted = true;
    if (row->wanted != NULL)
        wanted = !ways.on || decides_by_what_is_kept(row) ? row->wanted(job) : choose(2) == 0;
    if (wanted && ways.reached_n < WAYS)
        ways.reached[ways.reached_n++] = (uint16_t)index;
    ways.lost = ways.lost || ways.reached_n == WAYS;
    return wanted;
}

void job_row_arrive(struct job *job, size_t index)
{
    const struct job_question *row = &walk_row[index];
    if (row->arrive == NULL || (ways.on && !walk_touches(row->id)))
        return;
    if (walk_watch != NULL)
        walk_watch(job, row->id, false);
    row->arrive(job);
    if (walk_watch != NULL)
        walk_watch(job, row->id, true);
}

const char *job_row_take(struct job *job, size_t index, const struct job_answer *answer)
{
    const struct job_question *row = &walk_row[index];
    if (ways.on && !walk_touches(row->id))
        return answer->value.type != LANGUAGE_PHRASE && choose(2) == 1 ? "checks.low_above_high"
                                                                       : NULL;
    if (walk_watch != NULL)
        walk_watch(job, row->id, false);
    const char *refusal = row->take(job, answer);
    if (walk_watch != NULL)
        walk_watch(job, row->id, true);
    return refusal;
}

size_t job_row_after(const struct job *job, size_t index)
{
    const struct job_question *row = &walk_row[index];
    const char *to = NULL;
    unsigned leads = 0;
    while (row->branch != NULL && row->leads[leads] != NULL)
        leads++;
    if (row->branch != NULL && ways.on)
        to = row->leads[choose(leads + 1)];
    else if (row->branch != NULL)
        to = row->branch(job);
    if (to == NULL)
        to = row->next;
    return to == NULL ? index + 1 : job_question_index(to);
}

/* ---- what is kept --------------------------------------------------------------------------- */

struct key {
    uint32_t safe, account, again;
    uint16_t question, stood_at;
    uint8_t mode, phase, block, held, other, access, flags, anew;
};

/* Confirmed, but no row asks for them: steps, not cautions. */
static const uint32_t steps = JOB_BIT(SET_TO_MANUAL) | JOB_BIT(TOOLS_READY) |
                              JOB_BIT(LOCK_NUT_LOOSE) | JOB_BIT(LOCK_NUT_TIGHT);

static uint8_t kind_of(const struct language_value *value)
{
    return (uint8_t)(value->type == LANGUAGE_COMMAND ? 32 + (int)value->as.command
                                                     : (int)value->type);
}

/* A job on its way, with what the walk knows of it beside the engine. */
struct state {
    struct job job;
    uint32_t account; /* the phrases confirmed in this block, from the events alone */
    uint8_t account_block;
    bool cover_off;
    uint32_t again;           /* the phrases that counted until the tool was started again */
    bool anew;                /* it was, since the last answer */
    unsigned char tape[TAPE]; /* the ways gone at each fork, from the first event on */
    size_t tape_n;
    struct key trail[JOB_ANSWERS_MAX]; /* where each answer was given ... */
    size_t tape_at[JOB_ANSWERS_MAX];   /* ... and how much of the tape led there */
    bool anew_at[JOB_ANSWERS_MAX];     /* ... and if the tool had been started again just before */
    size_t index;                      /* of this state among those met */
};

static struct key key_of(const struct state *state)
{
    const struct job *job = &state->job;
    struct key key;
    memset(&key, 0, sizeof key);
    bool doubt = job->mode == JOB_SURE || job->mode == JOB_WHICH;
    key.question = job->question;
    key.mode = (uint8_t)job->mode;
    key.phase = (uint8_t)job->phase;
    key.block = (uint8_t)job->block;
    key.safe = job->safe & ~steps;
    key.account = state->account & ~steps;
    key.held = doubt ? kind_of(&job->held) : 0;
    key.other = job->mode == JOB_WHICH ? kind_of(&job->held_other) : 0;
    key.access = job->access_is_open;
    key.again = job->again;
    key.stood_at = job->again == 0 ? job->question : job->stood_at;
    key.anew = job->anew;
    bool third = job->profile.gear.value > 2;
    bool several = job->profile_names_n > 1 && job->phase == JOB_CARD;
    key.flags = (uint8_t)(job->has_profile | several << 1 | third << 2 | job_is_closed(job) << 3);
    return key;
}

/* Where a question is asked, whatever it is asked in just now. */
static struct key place_of(const struct state *state)
{
    struct key key = key_of(state);
    key.mode = key.held = key.other = 0;
    return key;
}

static bool same_key(struct key a, struct key b)
{
    return memcmp(&a, &b, sizeof a) == 0;
}

/* The parts in use only: most of a job is room for more. */
static void copy_state(struct state *to, const struct state *from)
{
    const struct job *job = &from->job;
    size_t answers = offsetof(struct job, answer), after_them = offsetof(struct job, answers);
    size_t last = offsetof(struct job, last), used = (job->answers + 1) * sizeof job->answer[0];
    if (answers + used > after_them)
        used = after_them - answers;
    memcpy(&to->job, job, answers + used);
    memcpy((char *)&to->job + after_them, (const char *)job + after_them, last - after_them);
    to->job.last.n = job->last.n;
    memcpy(to->job.last.effect, job->last.effect, job->last.n * sizeof job->last.effect[0]);
    to->account = from->account;
    to->account_block = from->account_block;
    to->cover_off = from->cover_off;
    to->again = from->again;
    to->anew = from->anew;
    to->index = from->index;
    to->tape_n = from->tape_n;
    memcpy(to->tape, from->tape, from->tape_n);
    memcpy(to->trail, from->trail, job->answers * sizeof from->trail[0]);
    memcpy(to->tape_at, from->tape_at, job->answers * sizeof from->tape_at[0]);
    memcpy(to->anew_at, from->anew_at, job->answers * sizeof from->anew_at[0]);
}

/* ---- states met ----------------------------------------------------------------------------- */

enum { MET_MAX = 1 << 18, MET_SLOTS = 1 << 20 };

static struct {
    struct key key[MET_MAX];
    uint32_t came_from[MET_MAX];
    char by[MET_MAX][48];
    uint32_t slot[MET_SLOTS]; /* index + 1 */
    size_t n;
} met;

/* Its index; true when it is new. */
static bool meet(struct key key, size_t came_from, const char *by, size_t *index)
{
    uint64_t hash = UINT64_C(1469598103934665603); /* FNV-1a, from memory */
    for (size_t i = 0; i < sizeof key; i++)
        hash = (hash ^ ((const unsigned char *)&key)[i]) * UINT64_C(1099511628211);
    size_t slot = (size_t)(hash >> 20) % MET_SLOTS;
    for (; met.slot[slot] != 0; slot = (slot + 1) % MET_SLOTS)
        if (same_key(met.key[met.slot[slot] - 1], key)) {
            *index = met.slot[slot] - 1;
            return false;
        }
    if (met.n == MET_MAX) {
        fprintf(stderr, "the walk met more states than it has room for\n");
        abort();
    }
    *index = met.n;
    met.key[met.n] = key;
    met.came_from[met.n] = (uint32_t)came_from;
    text_copy(met.by[met.n], sizeof met.by[met.n], by);
    met.slot[slot] = (uint32_t)++met.n;
    return true;
}

/* Which state leads to which. */
enum { EDGES_MAX = 1 << 22 };
static struct {
    uint32_t from[EDGES_MAX], to[EDGES_MAX];
    uint32_t noted[MET_MAX]; /* from + 1 of the last edge that led here */
    size_t n;
} edges;
static bool answerable[MET_MAX]; /* something that can be heard there is taken as an answer */

/* ---- what is wrong -------------------------------------------------------------------------- */

static struct walk_result *result;
static bool stop_when_wrong, in_short;

static void wrong(const struct state *before, const char *by, const char *what)
{
    if (result->wrong++ > 0)
        return;
    struct text text = text_into(result->first_wrong, sizeof result->first_wrong);
    text_addf(&text, "%s: after '%s' at %s", what, by, walk_row[before->job.question].id);
    size_t index = before->index;
    for (int i = 0; i < 6 && met.came_from[index] != index; i++) {
        text_addf(&text, ", after '%s' at %s", met.by[index],
                  walk_row[met.key[met.came_from[index]].question].id);
        index = met.came_from[index];
    }
}

/* ---- words ---------------------------------------------------------------------------------- */

enum { WORDS_MAX = 96 };

struct alphabet {
    char words[WORDS_MAX][LANGUAGE_WORDS];
    size_t n;
    size_t plain;  /* one that is an answer to the row, or "skip" */
    size_t phrase; /* the one a caution waits for; n: none */
};

/* What every grammar that can be open at this row makes of the words. */
struct meaning {
    int kind[4], value[4];
};

static bool believable(const struct job_question *row, const struct language_value *value)
{
    if (value->type != LANGUAGE_DISTANCE || row->high_mm <= 0)
        return true;
    double mm = measure_length_mm(value->as.length);
    return mm >= row->low_mm && mm <= row->high_mm;
}

static struct meaning meaning_of(const struct job_question *row, const char *words)
{
    const char *const open[] = {row->grammar == NULL ? "yesno" : row->grammar, "yesno", "either",
                                "resume"};
    struct meaning meaning;
    memset(&meaning, 0, sizeof meaning);
    for (int i = 0; i < 4; i++) {
        struct language_value value;
        enum language_outcome outcome = language_parse(open[i], words, &value, NULL);
        if (outcome != LANGUAGE_OK) {
            meaning.kind[i] = -1 - (int)outcome;
            continue;
        }
        meaning.kind[i] = (int)value.type;
        meaning.value[i] = value.type == LANGUAGE_COMMAND           ? (int)value.as.command
                           : value.type == LANGUAGE_PHRASE          ? (int)value.as.phrase
                           : value.type == LANGUAGE_YESNO           ? (int)value.as.yes
                           : value.type == LANGUAGE_CHOICE && i > 1 ? value.as.choice
                                                                    : (int)believable(row, &value);
    }
    return meaning;
}

static void add(struct alphabet *alphabet, const struct job_question *row, const char *words)
{
    struct meaning meaning = meaning_of(row, words);
    for (size_t i = 0; i < alphabet->n; i++) {
        struct meaning other = meaning_of(row, alphabet->words[i]);
        if (memcmp(&meaning, &other, sizeof meaning) == 0)
            return;
    }
    if (alphabet->n == WORDS_MAX)
        abort();
    text_copy(alphabet->words[alphabet->n++], LANGUAGE_WORDS, words);
}

static void add_length(struct alphabet *alphabet, const struct job_question *row, double mm)
{
    char words[LANGUAGE_WORDS];
    struct language_value value = {
        .type = LANGUAGE_DISTANCE,
        .as.length = measure_length_of((int64_t)(mm * 1000 + 0.5), 1000, MEASURE_MM)};
    if (language_say("distance", &value, words, sizeof words))
        add(alphabet, row, words);
}

static void add_all_words(struct alphabet *alphabet, const struct job_question *row)
{
    static const char *const words[] = {
        "yes",
        "no",
        "two",
        "nine hundred",
        "forty thousand",
        "one sixteenth of an inch",
        "turned as told",
        "not turned",
        "one sixteenth of a turn clockwise",
        "one turn",
        "nine hundred millilitres",
        "fluid",
        "purple monkey",
        "",
        "0/0",
        "forty inches",
        "0/0 of a turn",
        "five hundred turns",
    };
    for (int i = 0; language_command_words((enum language_command)i) != NULL; i++)
        add(alphabet, row, language_command_words((enum language_command)i));
    add(alphabet, row, "i don't know");
    add(alphabet, row, "skip");
    for (int i = 0; i < LANGUAGE_PHRASE_COUNT; i++)
        add(alphabet, row, language_phrase_words((enum language_phrase)i));
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        add(alphabet, row, words[i]);
    for (size_t g = 0; g < language_grammar_count(); g++)
        for (int i = 0; i < (int)language_choice_count(language_grammar_name(g)); i++)
            add(alphabet, row, language_choice_words(language_grammar_name(g), i));
    if (row->high_mm > 0) {
        add_length(alphabet, row, (row->low_mm + row->high_mm) / 2);
        add_length(alphabet, row, row->high_mm * 1.2);
    }
}

static bool is_answer(const struct job_question *row, const char *words)
{
    struct language_value value;
    return row->grammar != NULL &&
           language_parse(row->grammar, words, &value, NULL) == LANGUAGE_OK &&
           value.type != LANGUAGE_COMMAND && value.type != LANGUAGE_PHRASE &&
           value.type != LANGUAGE_SKIP && value.type != LANGUAGE_DONT_KNOW &&
           believable(row, &value);
}

static const struct alphabet *alphabet_of(size_t index)
{
    static struct alphabet *of[WALK_ROWS_MAX];
    static struct job_question made_for[WALK_ROWS_MAX];
    const struct job_question *row = &walk_row[index];
    bool same = of[index] != NULL && made_for[index].grammar == row->grammar &&
                made_for[index].phrase == row->phrase && made_for[index].id == row->id;
    if (same)
        return of[index];
    if (of[index] == NULL)
        of[index] = malloc(sizeof *of[index]);
    struct alphabet *alphabet = of[index];
    if (alphabet == NULL)
        abort();
    made_for[index] = *row;
    alphabet->n = 0;
    add_all_words(alphabet, row);
    alphabet->plain = alphabet->n;
    alphabet->phrase = alphabet->n;
    for (size_t i = alphabet->n; i-- > 0;) {
        if (is_answer(row, alphabet->words[i]))
            alphabet->plain = i;
        if (is_caution_grammar(row) &&
            strcmp(alphabet->words[i], language_phrase_words(row->phrase)) == 0)
            alphabet->phrase = i;
    }
    for (size_t i = 0; alphabet->plain == alphabet->n; i++)
        if (strcmp(alphabet->words[i], "skip") == 0)
            alphabet->plain = i;
    return alphabet;
}

/* ---- one step ------------------------------------------------------------------------------- */

static struct job_effects effects;

/* Everything the walk does not keep, set otherwise. */
static void stir(struct job *job)
{
    job->misses = job->misses == 0 ? 5 : 0;
    job->reminded = !job->reminded;
    job->on_pad = !job->on_pad;
    job->ear = job->ear == JOB_EAR_OPEN ? JOB_EAR_NOISE : JOB_EAR_OPEN;
    job->safe ^= steps;
    job->heard += 7;
    job->asked_again += 7;
    job->rejected += 7;
    job->corrections = job->corrections < 3 ? job->corrections + 1 : 0;
    for (size_t i = 0; i < job->corrections; i++)
        if (job->correction[i].id == NULL)
            job->correction[i].id = "card.order";
    job->cautions = job->cautions == 0 ? 0 : job->cautions - 1;
    job->checks_done ^= 0x155;
    job->rounds = job->rounds == 0 ? 3 : 0;
    job->tries = job->tries == 0 ? 3 : 0;
    job->centring = JOB_CANNOT_TELL;
    job->says_fixed = !job->says_fixed;
    job->offered = 2;
    job->proof_failed = !job->proof_failed;
    job->proof_passed = !job->proof_passed;
    job->running = !job->running;
    job->has_finer = !job->has_finer;
    job->now_ms += 86400000;
    reason_observe(&job->reason, REASON_TEMPERATURE, 1);
}

/* The ghost of the engine's own account: what this event confirmed, and what each row arrived at
 * wants. */
static void account_for(struct state *state, const struct state *before, const char *by)
{
    for (size_t i = 0; i < ways.reached_n; i++) {
        const struct job_question *row = &walk_row[ways.reached[i]];
        bool cheap = row->phase == JOB_CHECKS;
        if (begins_block(row->id)) {
            if (!cheap || state->account_block != JOB_CHECKS)
                state->account = 0;
            state->account &= ~JOB_BIT(ENGINE_OFF);
            state->account_block = (uint8_t)row->phase;
        }
        if (row->needs == 0)
            continue;
        result->hands++;
        if ((row->needs & ~state->account) != 0)
            wrong(before, by, "hands without a caution");
        if ((row->needs & JOB_BIT(ACCESS_OPEN)) != 0 && row->phase == JOB_CENTRING &&
            (state->account & (JOB_BIT(THIRD_GEAR) | JOB_BIT(NAMED_GEAR))) == 0)
            wrong(before, by, "hands without the gear");
        bool runs = (row->needs & JOB_BIT(EXHAUST_LED_AWAY)) != 0;
        if (runs && state->cover_off)
            wrong(before, by, "the engine runs with a cover off");
        if (runs)
            state->account &= ~(JOB_BIT(ENGINE_OFF) | JOB_BIT(PARTS_COOL));
    }
}

static void confirm(struct state *state, const struct state *before, const struct job_event *event,
                    const char *by)
{
    const struct job_question *row = &walk_row[before->job.question];
    struct language_value value;
    bool taken = state->job.answers == before->job.answers + 1;
    bool whole = event->kind == JOB_HEARD && event->verdict == JOB_ACCEPTED &&
                 language_parse("caution", event->words, &value, NULL) == LANGUAGE_OK &&
                 value.type == LANGUAGE_PHRASE && value.as.phrase == row->phrase &&
                 is_caution_grammar(row) && before->job.mode != JOB_STOPPED;
    if (!taken)
        return;
    const struct language_value *answer = &state->job.answer[before->job.answers].value;
    if (answer->type != LANGUAGE_PHRASE)
        return;
    if (!whole) {
        wrong(before, by, "confirmed without its whole phrase");
        return;
    }
    result->confirmed++;
    state->account |= 1u << value.as.phrase;
    if (value.as.phrase == LANGUAGE_ACCESS_OPEN)
        state->cover_off = true;
    if (value.as.phrase == LANGUAGE_COVER_BACK)
        state->cover_off = false;
}

static bool takes_back(const struct state *before, const struct state *after)
{
    return after->job.answers < before->job.answers;
}

/* Started again: what was confirmed counts no more, and in a block that goes on it has to be
 * confirmed once more, each caution with its whole phrase, before anything else. */
static bool hands_may_go_on(enum job_phase phase)
{
    return phase == JOB_CHECKS || phase == JOB_CENTRING || phase == JOB_ADJUSTING ||
           phase == JOB_DEEP || phase == JOB_PROVING;
}

static void lay_off(struct state *state)
{
    if (hands_may_go_on(walk_row[state->job.question].phase))
        state->again |= state->account & ~steps;
    state->account &= steps;
}

static void confirm_again(struct state *state, const struct state *before,
                          const struct job_event *event, const char *by)
{
    const struct job_question *row = &walk_row[before->job.question];
    struct language_value value;
    uint32_t gone = before->job.again & ~state->job.again;
    if (gone == 0 || takes_back(before, state))
        return;
    bool whole = event->kind == JOB_HEARD && event->verdict == JOB_ACCEPTED &&
                 before->job.mode != JOB_STOPPED &&
                 language_parse("caution", event->words, &value, NULL) == LANGUAGE_OK &&
                 value.type == LANGUAGE_PHRASE && gone == 1u << value.as.phrase &&
                 row->phrase == value.as.phrase && is_caution_grammar(row);
    if (!whole) {
        wrong(before, by, "confirmed again without its whole phrase");
        return;
    }
    result->confirmed++;
    state->again &= ~gone;
    state->account |= gone;
}

static bool speaks(void)
{
    for (size_t i = 0; i < effects.n; i++)
        if (effects.effect[i].kind == JOB_SAY)
            return true;
    return false;
}

static const struct job_effect *first_effect(enum job_effect_kind kind)
{
    for (size_t i = 0; i < effects.n; i++)
        if (effects.effect[i].kind == kind)
            return &effects.effect[i];
    return NULL;
}

/* Whatever it was, the effects fit the state they leave behind. */
static void check_effects(const struct state *before, const struct state *after, const char *by)
{
    const struct job *job = &after->job;
    const struct job_effect *listens = first_effect(JOB_LISTEN);
    if (effects.n >= JOB_EFFECTS_MAX)
        wrong(before, by, "more effects than there is room for");
    if (listens != NULL &&
        (strcmp(listens->grammar, job_grammar(job)) != 0 || listens->phrase != job_phrase(job)))
        wrong(before, by, "listens for something else than it asks");
    bool awaits = job->mode != JOB_LEFT && job->mode != JOB_FETCHING;
    if (effects.n > 0 && awaits && (listens == NULL || first_effect(JOB_REMIND) == NULL))
        wrong(before, by, "asks and does not listen");
    if (effects.n > 0 && job->mode == JOB_FETCHING && first_effect(JOB_FETCH_PROFILE) == NULL)
        wrong(before, by, "waits for a profile nobody fetches");
    if (job->mode == JOB_LEFT && effects.n > 0 && first_effect(JOB_LEAVE) == NULL)
        wrong(before, by, "left without saying so");
    /* or "say again" would repeat what belongs elsewhere */
    if (awaits && !same_key(key_of(before), key_of(after)) && !speaks())
        wrong(before, by, "went on without a word");
    if (awaits && walk_row[job->question].grammar == NULL && job->mode == JOB_ASKING)
        wrong(before, by, "waits at a row that asks nothing");
}

/* "Go back" leads to where the last answer was given, and to nowhere else. */
static void check_taken_back(const struct state *before, struct state *after, const char *by)
{
    size_t n = before->job.answers - 1;
    const struct key *then = &before->trail[n];
    result->taken_back++;
    after->account = then->account | (after->job.safe & steps);
    after->account_block = then->block;
    after->cover_off = then->access;
    after->again = 0;
    after->anew = before->anew || before->anew_at[n];
    struct key now = place_of(after), was = *then;
    now.flags = was.flags = 0; /* a profile that was read stays read */
    now.anew = was.anew = 0;
    if (before->anew) { /* to the place, but its cautions come first */
        bool goes_on = hands_may_go_on(walk_row[was.stood_at].phase);
        lay_off(after);
        was.again = goes_on ? was.safe : 0;
        was.safe = was.account = 0;
        now.account = 0;
        was.question = now.question;
    }
    if (after->job.answers != n || after->job.mode != JOB_ASKING || !same_key(now, was))
        wrong(before, by, "going back led elsewhere");
    after->tape_n = before->tape_at[n];
}

static void check_step(const struct state *before, struct state *after,
                       const struct job_event *event, const char *by)
{
    bool was_closed = job_is_closed(&before->job);
    if (ways.lost)
        wrong(before, by, "walks on without end");
    if (was_closed && effects.n > 0)
        wrong(before, by, "a closed job goes on");
    check_effects(before, after, by);
    if (takes_back(before, after)) {
        check_taken_back(before, after, by);
    } else {
        bool again = event->kind == JOB_RESUMED && !was_closed && before->job.opened_ms != 0;
        after->anew = (before->anew && after->job.answers == before->job.answers) || again;
        if (again || (after->anew && (after->job.again & ~before->job.again) != 0))
            lay_off(after);
        confirm_again(after, before, event, by);
        confirm(after, before, event, by);
        account_for(after, before, by);
        if ((walk_row[after->job.question].needs & ~after->account) != 0 &&
            after->job.mode != JOB_LEFT)
            wrong(before, by, "hands are asked for without a caution");
        bool moved = !same_key(place_of(before), place_of(after));
        bool may = after->job.answers > before->job.answers || event->kind == JOB_OPENED || again ||
                   before->job.again != after->job.again || event->kind == JOB_PROFILE_READ ||
                   event->kind == JOB_PROFILE_FAILED;
        if (moved && !may)
            wrong(before, by, "moved without an answer");
    }
    if (after->job.safe != after->account || after->job.access_is_open != after->cover_off ||
        after->job.again != after->again || after->job.anew != after->anew)
        wrong(before, by, "the engine's account of the cautions is another");
}

static void keep_tape(struct state *after, const struct state *before)
{
    if (after->job.answers > before->job.answers) {
        size_t n = before->job.answers;
        after->trail[n] = place_of(before);
        after->tape_at[n] = before->tape_n;
        after->anew_at[n] = before->anew;
    }
    bool answered = after->job.answers > before->job.answers;
    bool opened = before->job.opened_ms == 0;
    for (size_t i = 0; (answered || opened) && i < ways.n && after->tape_n < TAPE; i++)
        after->tape[after->tape_n++] = ways.chosen[i];
}

/* Steps `after`, a copy of `before`. */
static void take_step(struct state *after, const struct job_event *event, bool back)
{
    ways.at = 0;
    ways.reached_n = 0;
    ways.lost = false;
    ways.tape = back ? after->tape : NULL;
    ways.tape_at = 0;
    ways.tape_n = after->tape_n;
    job_step(&after->job, event, &effects);
    ways.tape = NULL;
}

/* ---- the walk ------------------------------------------------------------------------------- */

enum { TODO_MAX = 1 << 16 };
static struct {
    struct state *state[TODO_MAX];
    size_t from, to;
} asked, others; /* questions first come, first gone; what leads off them at once */

static void put_off(const struct state *state)
{
    struct state *copy = malloc(sizeof *copy);
    if (copy == NULL || asked.to == TODO_MAX || others.to == TODO_MAX)
        abort();
    copy_state(copy, state);
    if (state->job.mode == JOB_ASKING)
        asked.state[asked.to++] = copy;
    else
        others.state[others.to++] = copy;
}

static struct state *next_state(void)
{
    if (others.to > 0)
        return others.state[--others.to];
    return asked.from < asked.to ? asked.state[asked.from++] : NULL;
}

/* Is it an answer's way back? Then the forks go as they went. */
static bool goes_back(const struct state *state, const struct job_event *event)
{
    struct language_value value;
    const struct job *job = &state->job;
    if (event->kind == JOB_PROFILE_FAILED)
        return job->mode == JOB_FETCHING;
    if (event->kind != JOB_HEARD || event->verdict == JOB_REJECTED)
        return false;
    bool heard = language_parse(job_grammar(job), event->words, &value, NULL) == LANGUAGE_OK;
    if (heard && value.type == LANGUAGE_COMMAND)
        return value.as.command == LANGUAGE_GO_BACK || value.as.command == LANGUAGE_WRONG;
    if (!heard)
        return false;
    /* "yes" to "did you say go back?" */
    const struct language_value *held[] = {&job->held, &job->held_other};
    for (int i = 0; i < 2; i++)
        if ((job->mode == JOB_SURE || job->mode == JOB_WHICH) &&
            held[i]->type == LANGUAGE_COMMAND &&
            (held[i]->as.command == LANGUAGE_GO_BACK || held[i]->as.command == LANGUAGE_WRONG)) {
            bool first = value.type == LANGUAGE_YESNO ? value.as.yes : value.as.choice == 0;
            if ((value.type == LANGUAGE_YESNO || value.type == LANGUAGE_CHOICE) &&
                first == (i == 0))
                return true;
        }
    return false;
}

static struct state after, stirred;

/* By an answer of its own, that is: leaving it is another matter. */
static bool is_answered(const struct state *before, const struct state *now)
{
    if (now->job.answers == before->job.answers && (before->job.again & ~now->job.again) != 0)
        return true; /* confirmed again */
    if (now->job.answers <= before->job.answers)
        return false;
    enum language_type type = now->job.answer[before->job.answers].value.type;
    return type != LANGUAGE_SKIP && type != LANGUAGE_DONT_KNOW;
}

static void note_edge(size_t from, size_t to, bool answered)
{
    answerable[from] = answerable[from] || answered;
    if (edges.noted[to] == from + 1)
        return;
    edges.noted[to] = (uint32_t)from + 1;
    if (edges.n == EDGES_MAX)
        abort();
    edges.from[edges.n] = (uint32_t)from;
    edges.to[edges.n++] = (uint32_t)to;
}

static void step_all_ways(const struct state *before, const struct job_event *event, const char *by)
{
    bool back = goes_back(before, event);
    ways.n = 0;
    do {
        copy_state(&after, before);
        take_step(&after, event, back);
        check_step(before, &after, event, by);
        keep_tape(&after, before);
        result->transitions++;
        size_t index;
        struct key key = key_of(&after);
        if (meet(key, before->index, by, &index)) {
            after.index = index;
            put_off(&after);
        }
        note_edge(before->index, index, is_answered(before, &after));
        if (stop_when_wrong && result->wrong > 0)
            return;
        if (before->job.mode != JOB_ASKING || in_short || before->anew)
            continue;
        /* once more, with all that is not kept set otherwise */
        copy_state(&stirred, before);
        stir(&stirred.job);
        take_step(&stirred, event, back);
        stirred.account = after.account;
        if (!same_key(key_of(&stirred), key))
            wrong(before, by, "leads elsewhere for a reason that the walk does not keep");
    } while (!back && next_way());
}

static void hear(const struct state *state, enum job_source source, enum job_verdict verdict,
                 const char *words, const char *other)
{
    if (stop_when_wrong && result->wrong > 0)
        return;
    static struct job_event event;
    memset(&event, 0, sizeof event);
    event.kind = JOB_HEARD;
    event.at_ms = state->job.now_ms + 1000;
    event.source = source;
    event.verdict = verdict;
    text_copy(event.words, sizeof event.words, words);
    text_copy(event.other, sizeof event.other, other);
    char by[96];
    snprintf(by, sizeof by, "%s%.40s%s%.40s",
             verdict == JOB_ACCEPTED ? ""
             : verdict == JOB_UNSURE ? "unsure: "
                                     : "rejected: ",
             words, other[0] != '\0' ? " / " : "", other);
    step_all_ways(state, &event, by);
}

static void hear_everything(const struct state *state)
{
    const struct alphabet *alphabet = alphabet_of(state->job.question);
    const char *plain = alphabet->words[alphabet->plain];
    const char *phrase = alphabet->phrase < alphabet->n ? alphabet->words[alphabet->phrase] : "yes";
    bool asking = state->job.mode == JOB_ASKING;
    const char *const doubtful[] = {plain,           phrase, "yes",     "the first", "carry on",
                                    "purple monkey", "0/0",  "go back", "skip"};
    bool briefly = in_short || state->anew;
    for (size_t i = 0; !asking && !briefly && i < sizeof doubtful / sizeof doubtful[0]; i++) {
        hear(state, JOB_BY_EAR, JOB_UNSURE, doubtful[i], phrase);
        hear(state, JOB_BY_EAR, JOB_REJECTED, doubtful[i], phrase);
    }
    for (size_t i = 0; i < alphabet->n; i++) {
        const char *words = alphabet->words[i];
        hear(state, JOB_BY_EAR, JOB_ACCEPTED, words, "");
        if (state->anew && asking)
            hear(state, JOB_BY_EAR, JOB_UNSURE, words, phrase);
        if (!asking || briefly)
            continue;
        hear(state, JOB_BY_EAR, JOB_UNSURE, words, "");
        hear(state, JOB_BY_EAR, JOB_REJECTED, words, "");
        hear(state, JOB_BY_PAD, JOB_ACCEPTED, words, "");
        hear(state, JOB_BY_TYPING, JOB_ACCEPTED, words, phrase);
        hear(state, JOB_BY_EAR, JOB_REJECTED, words, phrase);
        hear(state, JOB_BY_EAR, JOB_UNSURE, words, plain);
        hear(state, JOB_BY_EAR, JOB_UNSURE, plain, words);
        hear(state, JOB_BY_EAR, JOB_UNSURE, words, phrase);
        hear(state, JOB_BY_EAR, JOB_UNSURE, phrase, words);
        hear(state, JOB_BY_EAR, JOB_UNSURE, words, "stop");
    }
}

static void happen(const struct state *state, enum job_event_kind kind, const char *by,
                   const char *profile)
{
    static struct job_event event;
    static struct technician technician;
    memset(&event, 0, sizeof event);
    event.kind = kind;
    event.at_ms = state->job.now_ms + 1000;
    event.walk = JOB_WALK;
    event.ear = state->job.ear == JOB_EAR_OPEN ? JOB_EAR_MISSING : JOB_EAR_OPEN;
    if (kind == JOB_PROFILE_READ) {
        technician_begin(&technician, 1);
        technician_profile(&technician, &event.profile);
        event.profile.gear.value = strcmp(profile, "second") == 0 ? 2 : 3;
        text_copy(event.profile.name, sizeof event.profile.name, profile);
    }
    step_all_ways(state, &event, by);
}

/* "Stop", in words however doubtful or by key, stops at once; hanging up leaves. */
static void check_stop(const struct state *state)
{
    bool over = state->job.mode == JOB_LEFT;
    for (int verdict = JOB_ACCEPTED; verdict <= JOB_UNSURE; verdict++)
        for (int i = 0; !over && i < 2; i++) {
            static struct job_event event;
            memset(&event, 0, sizeof event);
            event.kind = JOB_HEARD;
            event.verdict = (enum job_verdict)verdict;
            text_copy(event.words, sizeof event.words, i == 0 ? "stop" : "purple monkey");
            text_copy(event.other, sizeof event.other, i == 0 ? "" : "stop");
            copy_state(&after, state);
            job_step(&after.job, &event, &effects);
            if (after.job.mode != (state->job.mode == JOB_STOPPED ? JOB_LEFT : JOB_STOPPED))
                wrong(state, "stop", "'stop' does not stop");
        }
}

/* A reminder is said once, and then no more until something is heard. */
static void check_reminder(const struct state *state)
{
    static struct job_event event;
    event.kind = JOB_REMINDED;
    copy_state(&after, state);
    job_step(&after.job, &event, &effects);
    job_step(&after.job, &event, &effects);
    if (effects.n > 0)
        wrong(state, "reminded", "reminds without end");
}

static void expand(const struct state *state)
{
    if (state->job.mode == JOB_ASKING)
        result->questions++;
    check_stop(state);
    check_reminder(state);
    hear_everything(state);
    happen(state, JOB_OPENED, "(opened again)", "");
    happen(state, JOB_REMINDED, "(reminded)", "");
    happen(state, JOB_RESUMED, "(resumed)", "");
    happen(state, JOB_HUNG_UP, "(hung up)", "");
    happen(state, JOB_EAR_CHANGED, "(the ear changed)", "");
    happen(state, JOB_PROFILE_FAILED, "(profile failed)", "");
    happen(state, JOB_PROFILE_READ, "(third gear's profile)", "third");
    happen(state, JOB_PROFILE_READ, "(second gear's profile)", "second");
}

/* Nothing was asked yet: opened with one profile or with two. */
static void begin(const char *first, const char *second)
{
    static struct state fresh;
    static struct job_event event;
    memset(&fresh, 0, sizeof fresh);
    memset(&event, 0, sizeof event);
    job_init(&fresh.job);
    event.kind = JOB_OPENED;
    event.at_ms = 1000000;
    event.walk = JOB_WALK;
    event.names_n = second == NULL ? 1 : 2;
    text_copy(event.names[0], sizeof event.names[0], first);
    text_copy(event.names[1], sizeof event.names[1], second);
    meet(key_of(&fresh), met.n, "(opened)", &fresh.index);
    step_all_ways(&fresh, &event, "(opened)");
}

/* ---- every state has a way on --------------------------------------------------------------- */

/* Every question takes an answer of its own, and from every state the job can still be closed. */
static void check_ways_on(void)
{
    static bool ends[MET_MAX];
    static struct state at;
    for (size_t i = 0; i < met.n; i++)
        ends[i] = (met.key[i].flags & 8) != 0;
    for (bool more = true; more;) {
        more = false;
        for (size_t i = edges.n; i-- > 0;)
            if (ends[edges.to[i]] && !ends[edges.from[i]])
                more = ends[edges.from[i]] = true;
    }
    for (size_t i = 0; i < met.n; i++) {
        at.index = i;
        at.job.question = met.key[i].question;
        if (!ends[i])
            wrong(&at, met.by[i], "no way to the end");
        if (met.key[i].mode == JOB_ASKING && !answerable[i] && walk_row[at.job.question].grammar)
            wrong(&at, met.by[i], "no answer is taken");
    }
}

void walk_all(struct walk_result *out, enum walk_what what)
{
    result = out;
    stop_when_wrong = what == WALK_UNTIL_WRONG;
    in_short = what != WALK_ALL;
    memset(out, 0, sizeof *out);
    memset(met.slot, 0, sizeof met.slot);
    met.n = 0;
    memset(answerable, 0, sizeof answerable);
    memset(edges.noted, 0, sizeof edges.noted);
    edges.n = 0;
    asked.from = asked.to = others.to = 0;
    for (size_t i = 0; i < walk_rows; i++)
        if (walk_row[i].phase != JOB_CARD)
            walk_row[i].fill = NULL;
    walk_every_way(true);
    begin("third", NULL);
    begin("second", NULL);
    begin("third", "second");
    for (struct state *state; (state = next_state()) != NULL; free(state))
        if (!stop_when_wrong || result->wrong == 0)
            expand(state);
    if (!stop_when_wrong || result->wrong == 0)
        check_ways_on();
    walk_every_way(false);
    result->states = met.n;
}
