/*
 * A person's sentences that answer nothing, against every grammar: the share that is believed.
 *
 *     bench-person WORK [every=1] [jobs=1] [stop=MINUTES] [grammar=NAME]
 *
 * The sentences are Debian's asterisk-core-sounds-en-g722 (CC-BY-SA 3.0), some 350; with `every` =
 * n each grammar meets every n-th of them, the next grammar the ones beside. Rows are grammar,
 * sentence's number, verdict, words; what is in the folder already is not heard again (work.h).
 * Shares have Wilson's 95 % interval.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../measure/share.h"
#include "language/language.h"
#include "studio.h"
#include "work.h"

enum { GRAMMARS_MOST = 64, PROMPTS_MOST = 800 };

enum { NOT_YET, ACCEPTED, UNSURE, REJECTED };

struct session {
    struct work work;
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
    const char *name = language_grammar_name(grammar);
    struct speech_heard heard;
    struct fault fault = {0};
    if (!speech_recognise(session->studio.ear, name, said->pcm, said->frames, &heard, &fault)) {
        fprintf(stderr, "%s\n", fault.sentence);
        return false;
    }
    fprintf(session->work.rows, "%s\t%zu\t%s\t%s\n", name, prompt,
            speech_verdict_name(heard.verdict), heard.words);
    return fflush(session->work.rows) == 0;
}

/* Sentence by sentence over all grammars, so that a run that is stopped has some of each. */
static bool hear_all(struct session *session)
{
    size_t turn = 0;
    for (size_t p = 0; p < session->person.count; p++)
        for (size_t g = 0; g < language_grammar_count(); g++) {
            bool wanted =
                session->only == NULL || strcmp(session->only, language_grammar_name(g)) == 0;
            if (!wanted || (p + g) % session->every != 0 ||
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
    (void)is_new;
    bool done = studio_open(&session->studio, UTTERANCES_REPORT, STOCK_WAYS) && hear_all(session);
    studio_close(&session->studio);
    return done;
}

static bool recall(void *context, const char *path)
{
    struct session *session = context;
    char line[512], grammar[64], verdict[32];
    size_t prompt = 0;
    FILE *file = fopen(path, "r");
    if (file == NULL)
        return false;
    while (fgets(line, sizeof line, file) != NULL)
        for (size_t g = 0; g < language_grammar_count(); g++)
            if (strchr(line, '\n') != NULL &&
                sscanf(line, "%63s\t%zu\t%31s", grammar, &prompt, verdict) == 3 &&
                prompt < PROMPTS_MOST && strcmp(grammar, language_grammar_name(g)) == 0)
                session->verdict[g][prompt] = verdict_named(verdict);
    fclose(file);
    return true;
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
    if (!work_open(&session->work, dir, "person") || !work_each(&session->work, recall, session) ||
        !studio_person(&session->person))
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
    bool understood = argc >= 2;
    for (int i = 2; understood && i < argc; i++)
        if (strncmp(argv[i], "every=", 6) == 0)
            session->every = strtoul(argv[i] + 6, NULL, 10);
        else if (strncmp(argv[i], "grammar=", 8) == 0)
            session->only = argv[i] + 8;
        else
            understood = work_option(&session->work, argv[i]);
    understood = understood && session->every > 0;
    if (!understood)
        fputs("usage: bench-person WORK [every=1] [jobs=1] [stop=MINUTES] [grammar=NAME]\n",
              stderr);
    int code = understood ? run(session, argv[1]) : 2;
    free(session);
    return code;
}
