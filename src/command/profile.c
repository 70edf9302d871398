/* midthrow profile: the bike's numbers from its service manual: make, check, list and show them. */
#include "command/profile.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/plain.h"
#include "base/text.h"
#include "command/command.h"
#include "command/past.h"
#include "profile/field.h"
#include "profile/interview.h"
#include "record/journal.h"
#include "record/json_text.h"

static const char USAGE[] =
    "usage: midthrow profile new NAME [OPTION]...\n"
    "       midthrow profile check [FILE|NAME]... [--json] [--data DIR]\n"
    "       midthrow profile list [--json] [--data DIR]\n"
    "       midthrow profile show NAME [--json] [--data DIR]\n"
    "The numbers of a bike's service manual. 'new' asks for them, 'check' says of each file, or "
    "of\n"
    "all there are, what in it cannot be right; 'show' prints one with what is not known.\n"
    "\n"
    "new takes the options that say how it asks and hears ('midthrow work --help'), and\n"
    "  --title TEXT     how the bike is shown and said; else NAME\n"
    "  --source TEXT    where the numbers come from; else the manual's page is asked for\n"
    "  --fluid TEXT     the primary fluid as the manual names it\n"
    "  --replace        a profile of that name is replaced\n"
    "What is not known is skipped and stays open: a job asks for it when it first needs it.\n"
    "Broken off, the same command goes on where it was.\n";

struct request {
    const char *data;
    bool json, help;
    char **word; /* what is no option, the part's own name first */
    size_t words;
};

bool profile_folders_find(const char *data, struct profile_folders *folders, struct fault *fault)
{
    bool found = data == NULL
                     ? journal_default_directory(folders->data, sizeof folders->data, fault)
                     : (data[0] != '\0' && text_copy(folders->data, sizeof folders->data, data)) ||
                           fault_set(fault, FAULT_USAGE,
                                     "the data directory's name is empty or too long: name another "
                                     "with --data.");
    struct text own = text_into(folders->own, sizeof folders->own);
    text_addf(&own, "%s/profiles", found ? folders->data : "");
    return found && command_shared("profiles", folders->shared, sizeof folders->shared, fault);
}

static bool read_request(int argc, char **argv, struct request *request, struct fault *fault)
{
    *request = (struct request){.word = argv};
    for (int i = 1; i < argc; i++) {
        const char *option = argv[i];
        if (strcmp(option, "--json") == 0)
            request->json = true;
        else if (strcmp(option, "--help") == 0)
            request->help = true;
        else if (strcmp(option, "--data") == 0 && i + 1 < argc)
            request->data = argv[++i];
        else if (option[0] == '-' && option[1] != '\0')
            return fault_set(
                fault, FAULT_USAGE,
                "'%s' is no option here, or lacks its directory: see 'midthrow profile "
                "--help'.",
                option);
        else
            request->word[request->words++] = argv[i];
    }
    return true;
}

/* ---- check -------------------------------------------------------------------------------- */

struct findings {
    json_t *list; /* NULL: printed as they come */
};

static void tell(void *context, int line, const char *sentence)
{
    struct findings *findings = context;
    if (findings->list == NULL) {
        plain_print(stdout, sentence);
        putchar('\n');
        return;
    }
    json_array_append_new(findings->list,
                          json_pack("{sosi}", "what", json_text(sentence), "line", line));
}

/* A path when it looks like one, else a profile's name. */
static bool find_file(const struct profile_folders *folders, const char *word, char *path,
                      size_t size, struct fault *fault)
{
    size_t length = strlen(word);
    if (strchr(word, '/') != NULL || (length > 4 && strcmp(word + length - 4, ".ini") == 0))
        return (text_copy(path, size, word) && access(path, F_OK) == 0) ||
               fault_set(fault, FAULT_MISSING, "there is no file '%s': name another.", word);
    return profile_path(word, folders->own, folders->shared, path, size, fault);
}

static bool check_one(const char *path, struct request *request, json_t *all)
{
    struct profile profile;
    struct findings findings = {.list = request->json ? json_array() : NULL};
    size_t faults = profile_examine(path, &profile, tell, &findings);
    if (request->json)
        json_array_append_new(all, json_pack("{so sb so}", "file", json_text(path), "good",
                                             faults == 0, "faults", findings.list));
    else if (faults == 0) {
        plain_print(stdout, path);
        printf(": good, %zu numbers given\n", profile_known(&profile));
    }
    return faults == 0;
}

static int check(struct request *request, const struct profile_folders *folders)
{
    char names[PROFILES_MAX][PROFILE_NAME], path[PROFILE_COMMAND_PATH];
    struct fault fault = {.code = FAULT_NONE};
    json_t *all = json_array();
    bool good = true;
    size_t n = request->words > 1 ? request->words - 1
                                  : profile_names(folders->own, folders->shared, names);
    for (size_t i = 0; i < n; i++) {
        const char *word = request->words > 1 ? request->word[i + 1] : names[i];
        if (!find_file(folders, word, path, sizeof path, &fault)) {
            json_decref(all);
            return command_fail(&fault);
        }
        good = check_one(path, request, all) && good;
    }
    bool printed = request->json ? past_print_json(all, &fault) : command_printed(&fault);
    if (!request->json)
        json_decref(all);
    if (!printed)
        return command_fail(&fault);
    return good ? FAULT_NONE : FAULT_FAILED;
}

/* ---- list --------------------------------------------------------------------------------- */

static int list(struct request *request, const struct profile_folders *folders)
{
    char names[PROFILES_MAX][PROFILE_NAME], path[PROFILE_COMMAND_PATH];
    struct fault fault = {.code = FAULT_NONE};
    size_t n = profile_names(folders->own, folders->shared, names);
    json_t *all = json_array();
    for (size_t i = 0; i < n; i++) {
        struct profile profile;
        profile_init(&profile);
        bool good = profile_find(names[i], folders->own, folders->shared, &profile, &fault);
        profile_path(names[i], folders->own, folders->shared, path, sizeof path, NULL);
        bool own = strncmp(path, folders->own, strlen(folders->own)) == 0;
        if (request->json)
            json_array_append_new(all,
                                  json_pack("{ss so so sb sb sI}", "name", names[i], "title",
                                            json_text(profile.title), "source",
                                            json_text(profile.source), "good", good, "own", own,
                                            "known", (json_int_t)profile_known(&profile)));
        else if (good)
            printf("%-24s %s (%zu numbers; %s)\n", names[i], profile.title, profile_known(&profile),
                   profile.source);
        else
            printf("%-24s cannot be used: midthrow profile check %s\n", names[i], names[i]);
    }
    bool printed = request->json ? past_print_json(all, &fault) : command_printed(&fault);
    if (!request->json)
        json_decref(all);
    return printed ? FAULT_NONE : command_fail(&fault);
}

/* ---- show --------------------------------------------------------------------------------- */

static json_t *value_of(struct profile *profile, const struct profile_field *field)
{
    char length[64];
    switch (field->kind) {
    case PROFILE_FIELD_TEXT:
        return json_text(profile_field_text(profile, field));
    case PROFILE_FIELD_LENGTH:
        if (!profile_field_length(profile, field)->known)
            break;
        measure_length_print(profile_field_length(profile, field)->value, length, sizeof length);
        return json_pack("{ss sf}", "text", length, "mm",
                         measure_length_mm(profile_field_length(profile, field)->value));
    case PROFILE_FIELD_NUMBER:
        if (profile_field_number(profile, field)->known)
            return json_real(profile_field_number(profile, field)->value);
        break;
    case PROFILE_FIELD_WORD:
        if (field->word(profile) != 0)
            return json_string(field->words[field->word(profile)]);
        break;
    }
    return json_null();
}

static json_t *json_of(struct profile *profile)
{
    json_t *out = json_pack("{ss}", "name", profile->name);
    for (size_t i = 0; i < profile_fields_n; i++) {
        const struct profile_field *field = &profile_fields[i];
        bool eccentric = profile->stem == PROFILE_STEM_ECCENTRIC;
        json_t *section = json_object_get(out, field->section);
        if (section == NULL) {
            json_object_set_new(out, field->section, json_object());
            section = json_object_get(out, field->section);
        }
        bool other = strcmp(field->key, eccentric ? "pitch" : "throw") == 0;
        json_object_set_new(section, field->key, other ? json_null() : value_of(profile, field));
    }
    return out;
}

static int show(struct request *request, const struct profile_folders *folders)
{
    struct profile profile;
    struct fault fault = {.code = FAULT_NONE};
    char text[PROFILE_FILE];
    if (request->words != 2) {
        fault_set(&fault, FAULT_USAGE, "which one? 'midthrow profile list' names them.");
        return command_fail(&fault);
    }
    if (!profile_find(request->word[1], folders->own, folders->shared, &profile, &fault))
        return command_fail(&fault);
    if (request->json)
        return past_print_json(json_of(&profile), &fault) ? FAULT_NONE : command_fail(&fault);
    profile_write(&profile, text, sizeof text);
    const char *body = strstr(text, "[bike]"); /* behind the comment for who edits the file */
    fputs(body != NULL ? body : text, stdout);
    return command_printed(&fault) ? FAULT_NONE : command_fail(&fault);
}

/* The shop's, midthrow's own, and those that are named by a path; the first word is what to do. */
static bool confine(const struct request *request, const struct profile_folders *folders,
                    struct fault *fault)
{
    const char **places = calloc(request->words + 2, sizeof *places);
    if (places == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close other programs.");
    places[0] = folders->own;
    places[1] = folders->shared;
    for (size_t i = 1; i < request->words; i++)
        places[i + 1] = request->word[i];
    command_confine_reading(places, request->words + 1);
    free(places);
    return true;
}

/* ---- which -------------------------------------------------------------------------------- */

int command_profile(int argc, char **argv)
{
    static const struct {
        const char *name;
        int (*run)(struct request *request, const struct profile_folders *folders);
    } parts[] = {{"check", check}, {"list", list}, {"show", show}};
    struct fault fault = {.code = FAULT_NONE};
    struct request request;
    struct profile_folders folders;
    if (argc > 1 && strcmp(argv[1], "new") == 0)
        return profile_new(argc - 1, argv + 1);
    if (!read_request(argc, argv, &request, &fault))
        return command_fail(&fault);
    if (request.help) {
        fputs(USAGE, stdout);
        return FAULT_NONE;
    }
    for (size_t i = 0; request.words > 0 && i < sizeof parts / sizeof parts[0]; i++)
        if (strcmp(request.word[0], parts[i].name) == 0)
            return profile_folders_find(request.data, &folders, &fault) &&
                           confine(&request, &folders, &fault)
                       ? parts[i].run(&request, &folders)
                       : command_fail(&fault);
    fault_set(&fault, FAULT_USAGE,
              "write: midthrow profile new, check, list or show; see 'midthrow "
              "profile --help'.");
    return command_fail(&fault);
}
