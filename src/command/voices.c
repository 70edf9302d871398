/* The voices that were learned: see voices.h. */
#include "command/voices.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/text.h"
#include "record/store.h"
#include "record/whole.h"
#include "speech/person.h"

static const char ENDING[] = ".voice";

enum { PATH_SIZE = 4096 };

bool voices_name_check(const char *name, struct fault *fault)
{
    size_t length = strspn(name, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                 "0123456789-_");
    return (length > 0 && length < VOICES_NAME && name[length] == '\0' && name[0] != '-') ||
           fault_set(fault, FAULT_USAGE,
                     "'%.60s' cannot name a voice: at most %d letters, digits, '-' and '_'.", name,
                     (int)VOICES_NAME - 1);
}

static bool path_of(const char *data, const char *name, char out[PATH_SIZE], struct fault *fault)
{
    struct text path = text_into(out, PATH_SIZE);
    text_addf(&path, "%s/voices", data);
    if (name != NULL)
        text_addf(&path, "/%s%s", name, ENDING);
    return !path.cut || fault_set(fault, FAULT_USAGE, "the data directory's name is too long.");
}

static bool nobody(const char *data, const char *name, struct fault *fault)
{
    char known[512];
    voices_list(data, known, sizeof known);
    return fault_set(fault, FAULT_MISSING,
                     "nobody called '%s' has enrolled (%s): 'midthrow enrol %s'.", name,
                     known[0] != '\0' ? known : "nobody has", name);
}

struct speech_phonetic *voices_load(const char *data, const char *name, struct fault *fault)
{
    char path[PATH_SIZE];
    size_t length = 0;
    if (!voices_name_check(name, fault) || !path_of(data, name, path, fault))
        return NULL;
    if (access(path, F_OK) != 0) {
        nobody(data, name, fault);
        return NULL;
    }
    char *text = file_read(path, PERSON_TEXT, &length, fault);
    struct speech_phonetic *person = text != NULL ? speech_person_read(text, fault) : NULL;
    free(text);
    return person;
}

bool voices_save(const char *data, const char *name, const struct speech_phonetic *person,
                 struct fault *fault)
{
    char path[PATH_SIZE], *text = malloc(PERSON_TEXT);
    struct whole whole;
    if (text == NULL || !speech_person_write(person, text, PERSON_TEXT)) {
        free(text);
        return fault_set(fault, FAULT_FAILED, "out of memory: close other programs.");
    }
    bool saved = path_of(data, NULL, path, fault) && store_make_directory(path, fault) &&
                 path_of(data, name, path, fault) && whole_begin(&whole, path, fault);
    if (saved) {
        fputs(text, whole.file);
        saved = whole_end(&whole, fault);
    }
    free(text);
    return saved;
}

bool voices_forget(const char *data, const char *name, struct fault *fault)
{
    char path[PATH_SIZE];
    if (!voices_name_check(name, fault) || !path_of(data, name, path, fault))
        return false;
    if (unlink(path) == 0) {
        whole_settle_folder(path);
        return true;
    }
    return errno == ENOENT
               ? nobody(data, name, fault)
               : fault_set(fault, FAULT_FAILED, "cannot erase '%s' (%s).", path, strerror(errno));
}

static int is_voice(const struct dirent *entry)
{
    size_t length = strlen(entry->d_name), ending = strlen(ENDING);
    return length > ending && strcmp(entry->d_name + length - ending, ENDING) == 0;
}

bool voices_list(const char *data, char *out, size_t size)
{
    char path[PATH_SIZE];
    struct text names = text_into(out, size);
    struct dirent **entries = NULL;
    int n = path_of(data, NULL, path, NULL) ? scandir(path, &entries, is_voice, alphasort) : 0;
    for (int i = 0; i < n; i++) {
        text_add(&names, i > 0 ? ", " : "");
        text_add_n(&names, entries[i]->d_name, strlen(entries[i]->d_name) - strlen(ENDING));
        free(entries[i]);
    }
    free(entries);
    return !names.cut;
}
