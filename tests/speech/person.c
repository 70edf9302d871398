/*
 * A person's sentences that answer nothing, against every grammar: the share that is believed.
 *
 *     bench-person WORK [rows] [set=report|tune] [every=1] [jobs=1] [stop=MINUTES] [grammar=NAME]
 *
 * The sentences are Debian's asterisk-core-sounds-en-g722 (CC-BY-SA 3.0), some 350: every other one
 * to tune on, the rest to report. With `every` = n each grammar meets every n-th of its set, the
 * next grammar the ones beside. Rows are bench-ear's, of class "chatter"; what is in the folder
 * already is not heard again (work.h). Shares have Wilson's 95 % interval.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../measure/share.h"
#include "enrolled.h"
#include "language/language.h"
#include "rows.h"
#include "speech/verdict.h"
#include "studio.h"
#include "work.h"

enum { GRAMMARS_MOST = 64, PROMPTS_MOST = 800 };

enum { NOT_YET, ACCEPTED, UNSURE, REJECTED };

struct session {
    struct work work;
    enum utterances_set set;
    bool only_names;
    size_t every;
    const char *only; /* grammar; NULL: all */
    struct noise_talkers person;
    struct studio studio;
    int verdict[GRAMMARS_MOST][PROMPTS_MOST];
};

static int verdict_named(const char *name)
{
    return strcmp(name, "accepted") == 0 ? ACCEPTED
           : strcmp(name, "unsure") == 0 ? UNSURE
                                         : REJECTED;
}

static bool hear(struct session *session, size_t grammar, size_t prompt)
{
    const struct recording *said = &session->person.said[prompt];
    struct row row = {.utterance = (int)prompt,
                      .snr_db = ROWS_QUIET_DB,
                      .sound_s = (double)said->frames / SPEECH_RATE_HZ,
                      .voice = "person",
                      .class = "chatter",
                      .noise = "quiet"};
    if (!studio_hear(&session->studio, language_grammar_name(grammar), said->pcm, said->frames,
                     &row))
        return false;
    rows_write(session->work.rows, &row);
    return fflush(session->work.rows) == 0;
}

/* Sentence by sentence over all grammars, so that a run that is stopped has some of each. */
static bool hear_all(struct session *session)
{
    size_t turn = 0;
    for (size_t p = session->set == UTTERANCES_REPORT; p < session->person.count; p += 2)
        for (size_t g = 0; g < language_grammar_count(); g++) {
            bool wanted =
                session->only == NULL || strcmp(session->only, language_grammar_name(g)) == 0;
            if (!wanted || (p / 2 + g) % session->every != 0 ||
                turn++ % session->work.jobs != session->work.job ||
                session->verdict[g][p] != NOT_YET)
                continue;
            if (work_late(&session->work))
                return true;
            if (!hear(session, g, p))
                return false;
        }
    return true;
}

static bool do_job(void *context, bool is_new)
{
    struct session *session = context;
    if (is_new)
        rows_write_head(session->work.rows);
    bool done = studio_open(&session->studio, session->set, STOCK_WAYS) &&
                enrolled_know_named(&session->studio, session->work.dir, session->work.knows) &&
                hear_all(session);
    studio_close(&session->studio);
    return done;
}

static void remember(void *context, const struct row *row)
{
    struct session *session = context;
    for (size_t g = 0; g < language_grammar_count(); g++)
        if (row->utterance >= 0 && row->utterance < PROMPTS_MOST &&
            strcmp(row->grammar, language_grammar_name(g)) == 0)
            session->verdict[g][row->utterance] = verdict_named(row->verdict);
}

static bool recall(void *session, const char *path)
{
    return rows_read_file(path, remember, session);
}

static void print_row(const char *name, const int count[4])
{
    int said = count[ACCEPTED] + count[UNSURE] + count[REJECTED];
    struct share share = share_of(count[ACCEPTED], said);
    if (said > 0)
        printf("| %s | %d | %d | %d | %.2f [%.2f, %.2f] |\n", name, said, count[UNSURE],
               count[ACCEPTED], 100 * share.value, 100 * share.low, 100 * share.high);
}

static void print_table(const struct session *session)
{
    int all[4] = {0};
    puts("| grammar | sentences | asked about | believed | believed, percent "
         "|\n|---|---|---|---|---|");
    for (size_t g = 0; g < language_grammar_count(); g++) {
        int count[4] = {0};
        for (size_t p = 0; p < PROMPTS_MOST; p++)
            count[session->verdict[g][p]]++;
        for (int v = 0; v < 4; v++)
            all[v] += count[v];
        print_row(language_grammar_name(g), count);
    }
    print_row("all", all);
}

static int run(struct session *session, const char *dir)
{
    const char *kind = session->set == UTTERANCES_TUNE ? "person-tune" : "person-report";
    if (!work_open(&session->work, dir, kind))
        return 1;
    if (session->only_names)
        return !work_print_names(&session->work);
    if (!work_each(&session->work, recall, session) || !studio_person(&session->person))
        return 1;
    if (session->person.count == 0 || session->person.count > PROMPTS_MOST) {
        puts("skipped: needs Debian's asterisk-core-sounds-en-g722");
        return 77;
    }
    int failed = work_run(&session->work, do_job, session);
    failed |= !work_each(&session->work, recall, session); /* what the jobs heard */
    print_table(session);
    studio_forget(&session->person);
    return failed;
}

int main(int argc, char **argv)
{
    struct session *session = calloc(1, sizeof *session);
    if (session == NULL)
        return 1;
    session->every = 1;
    session->set = UTTERANCES_REPORT;
    bool understood = argc >= 2;
    for (int i = 2; understood && i < argc; i++)
        if (strncmp(argv[i], "every=", 6) == 0)
            session->every = strtoul(argv[i] + 6, NULL, 10);
        else if (strncmp(argv[i], "grammar=", 8) == 0)
            session->only = argv[i] + 8;
        else if (strncmp(argv[i], "set=", 4) == 0)
            session->set = strcmp(argv[i] + 4, "tune") == 0 ? UTTERANCES_TUNE : UTTERANCES_REPORT;
        else if (strcmp(argv[i], "rows") == 0)
            session->only_names = true;
        else
            understood = work_option(&session->work, argv[i]);
    understood = understood && session->every > 0;
    if (!understood)
        fputs("usage: bench-person WORK [rows] [set=report|tune] [every=1] [jobs=1] [stop=MINUTES] "
              "[grammar=NAME] [knows=VOICE]\n",
              stderr);
    int code = understood ? run(session, argv[1]) : 2;
    free(session);
    return code;
}
