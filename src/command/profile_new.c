/* midthrow profile new: asks for the numbers of a service manual by the same ears, keys and mouth
 * as a job. After every answer a draft is put in place whole, so that nothing is lost on a kill. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/text.h"
#include "command/command.h"
#include "command/profile.h"
#include "command/session.h"
#include "keypad/keypad.h"
#include "profile/interview.h"
#include "record/said.h"
#include "record/store.h"
#include "record/whole.h"
#include "station/station.h"

struct making {
    const char *name, *title, *source, *fluid;
    bool replace;
    char path[PROFILE_COMMAND_PATH + 64], draft[PROFILE_COMMAND_PATH + 64];
    struct profile_interview interview;
    bool resumed, finished;
    struct station *station;
    struct job_event *event;
    struct fault *fault;
};

/* ---- files -------------------------------------------------------------------------------- */

static bool write_whole(const char *path, const char *text, struct fault *fault)
{
    struct whole *whole = malloc(sizeof *whole);
    if (whole == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close other programs.");
    bool ok = whole_begin(whole, path, fault);
    if (ok) {
        fputs(text, whole->file);
        ok = whole_end(whole, fault);
    }
    free(whole);
    return ok;
}

static bool save_draft(struct making *making)
{
    char draft[PROFILE_DRAFT];
    return profile_interview_save(&making->interview, draft, sizeof draft) &&
           write_whole(making->draft, draft, making->fault);
}

/* Goes on with a draft that fits; one that cannot be read is begun anew. */
static void find_draft(struct making *making)
{
    char draft[PROFILE_DRAFT];
    FILE *file = fopen(making->draft, "r");
    if (file == NULL)
        return;
    size_t n = fread(draft, 1, sizeof draft - 1, file);
    fclose(file);
    draft[n] = '\0';
    making->resumed = profile_interview_restore(&making->interview, draft);
}

static bool finish(struct making *making)
{
    char text[PROFILE_FILE];
    if (!profile_write(&making->interview.profile, text, sizeof text))
        return fault_set(making->fault, FAULT_FAILED,
                         "the title or the source is too long for a profile: shorten it.");
    if (!write_whole(making->path, text, making->fault))
        return false;
    unlink(making->draft); /* the profile is in place: a draft left behind only offers it again */
    making->finished = true;
    return true;
}

/* ---- talking ------------------------------------------------------------------------------ */

static bool fill(struct making *making, const char *key, const char *first, const char *second,
                 char *out, size_t size)
{
    struct prompt_argument argument[8] = {{.name = "title"}, {.name = "known"},  {.name = "value"},
                                          {.name = "first"}, {.name = "second"}, {.name = "why"},
                                          {.name = "which"}, {.name = "of"}};
    size_t which, of;
    profile_interview_where(&making->interview, &which, &of);
    text_copy(argument[0].value, PROMPT_VALUE, making->interview.profile.title);
    snprintf(argument[1].value, PROMPT_VALUE, "%zu", profile_known(&making->interview.profile));
    text_copy(argument[2].value, PROMPT_VALUE, first);
    text_copy(argument[3].value, PROMPT_VALUE, first);
    text_copy(argument[4].value, PROMPT_VALUE, second);
    text_copy(argument[5].value, PROMPT_VALUE, first);
    snprintf(argument[6].value, PROMPT_VALUE, "%zu", which);
    snprintf(argument[7].value, PROMPT_VALUE, "%zu", of);
    return said_prompt(making->station->prompts, key, argument, 8, out, size, making->fault);
}

static bool say(struct making *making, const char *key, const char *value)
{
    char sentence[PROMPT_SENTENCE];
    return fill(making, key, value, "", sentence, sizeof sentence) &&
           station_say(making->station, sentence, making->fault);
}

static enum station_got ask(struct making *making, const char *key, const char *first,
                            const char *second, const char *grammar)
{
    struct station_question question = {.grammar = grammar, .phrase = LANGUAGE_NOT_YET};
    char sentence[PROMPT_SENTENCE];
    if (!fill(making, key, first, second, sentence, sizeof sentence))
        return STATION_BROKEN;
    return station_ask(making->station, sentence, &question, making->event, making->fault);
}

/* What an answer that is not sure turns out to be: a yes, or one of two readings. Words of the
 * answer in `words`, "" when it was neither. */
static enum station_got make_sure(struct making *making, const char *grammar,
                                  char words[LANGUAGE_WORDS])
{
    char other[LANGUAGE_WORDS], first[LANGUAGE_WORDS] = "", second[LANGUAGE_WORDS] = "";
    struct language_value value;
    text_copy(words, LANGUAGE_WORDS, making->event->words);
    text_copy(other, sizeof other, making->event->other);
    if (language_parse(grammar, words, &value, NULL) == LANGUAGE_OK)
        language_read_back(grammar, &value, first, sizeof first);
    if (language_parse(grammar, other, &value, NULL) == LANGUAGE_OK)
        language_read_back(grammar, &value, second, sizeof second);
    bool two = second[0] != '\0';
    enum station_got got = ask(making, two ? "profile.which" : "profile.sure", first, second,
                               two ? "either" : "yesno");
    if (got != STATION_ANSWER)
        return got;
    bool clear =
        making->event->verdict == JOB_ACCEPTED &&
        language_parse(two ? "either" : "yesno", making->event->words, &value, NULL) == LANGUAGE_OK;
    if (!clear || (two ? value.type != LANGUAGE_CHOICE || value.as.choice == 2
                       : value.type != LANGUAGE_YESNO || !value.as.yes))
        words[0] = '\0';
    else if (two && value.as.choice == 1)
        text_copy(words, LANGUAGE_WORDS, other);
    return STATION_ANSWER;
}

enum after { GO_ON, LEAVE, BROKEN };

static enum after obey(struct making *making, enum language_command command, const char *id,
                       const char *grammar)
{
    char key[PROMPT_KEY], keys[PROMPT_VALUE];
    struct text text = text_into(key, sizeof key);
    switch (command) {
    case LANGUAGE_GO_BACK:
    case LANGUAGE_WRONG:
        if (!profile_interview_back(&making->interview))
            return say(making, "profile.first", "") ? GO_ON : BROKEN;
        return say(making, "profile.taken_back", "") && save_draft(making) ? GO_ON : BROKEN;
    case LANGUAGE_STOP:
        return say(making, "profile.stopped", "") ? LEAVE : BROKEN;
    case LANGUAGE_HELP:
    case LANGUAGE_EXPLAIN:
        text_addf(&text, "help.profile.%s", id);
        return say(making, key, "") ? GO_ON : BROKEN;
    case LANGUAGE_WHERE_ARE_WE:
        return say(making, "profile.where", "") ? GO_ON : BROKEN;
    case LANGUAGE_KEYPAD:
        keypad_keys(grammar, LANGUAGE_NOT_YET, keys, sizeof keys);
        return station_say(making->station, keys, making->fault) ? GO_ON : BROKEN;
    case LANGUAGE_SAY_AGAIN:
    case LANGUAGE_LISTEN:
    case LANGUAGE_LOUDER: /* of the jobs' sessions */
    case LANGUAGE_QUIETER:
    case LANGUAGE_FASTER:
    case LANGUAGE_SLOWER:
    case LANGUAGE_COMMAND_COUNT:
        break;
    }
    return GO_ON;
}

/* The answer into the interview, and read back. */
static enum after take(struct making *making, const char *grammar,
                       const struct language_value *value)
{
    char why[PROFILE_WHY], words[LANGUAGE_WORDS] = "";
    bool skipped = value->type == LANGUAGE_SKIP || value->type == LANGUAGE_DONT_KNOW;
    if (!profile_interview_answer(&making->interview, value, why))
        return say(making, "profile.refused", why) ? GO_ON : BROKEN;
    if (!save_draft(making))
        return BROKEN;
    if (skipped)
        return say(making, "profile.skipped", "") ? GO_ON : BROKEN;
    language_read_back(grammar, value, words, sizeof words);
    return say(making, "profile.taken", words) ? GO_ON : BROKEN;
}

static enum after one_question(struct making *making, const struct profile_question *question)
{
    char key[PROMPT_KEY], words[LANGUAGE_WORDS], why[LANGUAGE_WHY];
    struct text text = text_into(key, sizeof key);
    text_addf(&text, "profile.%s", question->id);
    enum station_got got = ask(making, key, "", "", question->grammar);
    if (got == STATION_ANSWER && making->event->verdict == JOB_UNSURE)
        got = make_sure(making, question->grammar, words);
    else if (got == STATION_ANSWER)
        text_copy(words, sizeof words,
                  making->event->verdict == JOB_ACCEPTED ? making->event->words : "");
    if (got != STATION_ANSWER)
        return got == STATION_BROKEN ? BROKEN : LEAVE;
    struct language_value value;
    if (words[0] == '\0')
        return say(making, "profile.not_understood", "") ? GO_ON : BROKEN;
    if (language_parse(question->grammar, words, &value, why) != LANGUAGE_OK)
        return say(making, "profile.refused", why) ? GO_ON : BROKEN;
    if (value.type == LANGUAGE_COMMAND)
        return obey(making, value.as.command, question->id, question->grammar);
    return take(making, question->grammar, &value);
}

/* What the command line gave is not asked for. */
static void begin(struct making *making)
{
    struct profile *profile = &making->interview.profile;
    if (!making->resumed) {
        profile_init(profile);
        profile_interview_begin(&making->interview);
    }
    text_copy(profile->name, sizeof profile->name, making->name);
    if (making->title != NULL || profile->title[0] == '\0')
        text_copy(profile->title, sizeof profile->title,
                  making->title != NULL ? making->title : making->name);
    if (making->fluid != NULL)
        text_copy(profile->fluid, sizeof profile->fluid, making->fluid);
    if (making->source != NULL) {
        text_copy(profile->source, sizeof profile->source, making->source);
        if (making->interview.at == 0)
            making->interview.at = 1; /* the page */
    }
}

static bool talk(void *context, struct station *station, struct fault *fault)
{
    struct making *making = context;
    making->station = station;
    making->fault = fault;
    begin(making);
    if (!say(making, "profile.welcome", "") ||
        (making->resumed && !say(making, "profile.resumed", "")))
        return false;
    const struct profile_question *question;
    while ((question = profile_interview_question(&making->interview)) != NULL) {
        enum after after = one_question(making, question);
        if (after != GO_ON)
            return after == LEAVE;
    }
    return finish(making) && say(making, "profile.done", "");
}

/* ---- the command line --------------------------------------------------------------------- */

/* Takes the options of its own out of the line; the others stay for the session. */
static bool read_own(int *argc, char **argv, struct making *making, struct fault *fault)
{
    const struct {
        const char *name;
        const char **to;
    } texts[] = {
        {"--title", &making->title}, {"--source", &making->source}, {"--fluid", &making->fluid}};
    int kept = 1, first = 1;
    if (*argc > 1 && argv[1][0] != '-')
        making->name = argv[first++];
    for (int i = first; i < *argc; i++) {
        bool own = strcmp(argv[i], "--replace") == 0;
        making->replace |= own;
        for (size_t t = 0; !own && t < sizeof texts / sizeof texts[0]; t++) {
            if (strcmp(argv[i], texts[t].name) != 0)
                continue;
            if (++i == *argc || argv[i][0] == '\0' || strlen(argv[i]) >= PROFILE_TEXT)
                return fault_set(fault, FAULT_USAGE, "%s needs a text of at most %d bytes.",
                                 texts[t].name, (int)PROFILE_TEXT - 1);
            *texts[t].to = argv[i];
            own = true;
        }
        if (!own)
            argv[kept++] = argv[i];
    }
    argv[kept] = NULL;
    *argc = kept;
    return true;
}

static bool find_place(struct making *making, const char *data, struct fault *fault)
{
    struct profile_folders folders;
    char there[PROFILE_COMMAND_PATH];
    if (making->name == NULL || !profile_is_name(making->name))
        return fault_set(
            fault, FAULT_USAGE,
            "name the profile: midthrow profile new NAME, of letters, figures, - and _.");
    if (!profile_folders_find(data, &folders, fault))
        return false;
    if (!making->replace &&
        profile_path(making->name, folders.own, folders.shared, there, sizeof there, NULL))
        return fault_set(fault, FAULT_USAGE,
                         "there is a profile '%s' already: give another name, or --replace.",
                         making->name);
    struct text path = text_into(making->path, sizeof making->path);
    text_addf(&path, "%s/%s.ini", folders.own, making->name);
    struct text draft = text_into(making->draft, sizeof making->draft);
    text_addf(&draft, "%s/.%s.draft", folders.own, making->name);
    if (!store_make_directory(folders.data, fault) || !store_make_directory(folders.own, fault))
        return false;
    find_draft(making);
    return true;
}

static bool make(struct making *making, int argc, char **argv, struct fault *fault)
{
    struct session_options options = {.hear = calloc((size_t)argc + 1, sizeof *options.hear)};
    bool help = false;
    if (options.hear == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close other programs.");
    bool ok = session_options_read(argc, argv, &options, &help, fault);
    if (ok && help) {
        char name[] = "profile", option[] = "--help";
        char *arguments[] = {name, option, NULL};
        command_profile(2, arguments);
    } else if (ok) {
        ok = find_place(making, options.data, fault) && session_talk(&options, talk, making, fault);
    }
    free(options.hear);
    return ok;
}

int profile_new(int argc, char **argv)
{
    struct fault fault = {.code = FAULT_NONE};
    struct making *making = calloc(1, sizeof *making);
    bool ok = false;
    if (making != NULL)
        making->event = calloc(1, sizeof *making->event);
    if (making == NULL || making->event == NULL)
        fault_set(&fault, FAULT_FAILED, "out of memory: close other programs.");
    else
        ok = read_own(&argc, argv, making, &fault) && make(making, argc, argv, &fault);
    if (ok && making->finished)
        printf("\nWritten: %s. 'midthrow --profile %s' uses it.\n", making->path, making->name);
    if (making != NULL)
        free(making->event);
    free(making);
    return ok ? FAULT_NONE : command_fail(&fault);
}
