/* The catalogue of sentences: read from INI files, kept sorted by key, filled when one is said. */
#include "prompt/prompt.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "base/inifile.h"
#include "base/text.h"

enum { FILES_MAX = 64, FILE_NAME = 128, PATH_SIZE = 4096, SENTENCES_MAX = 4096 };

struct sentence {
    char key[PROMPT_KEY];
    char *text;
    int file; /* in the list of files, and the line there: for complaints */
    int line;
};

struct prompt_catalogue {
    struct sentence *sentence; /* while reading: as they come; then sorted by key */
    size_t n;
    size_t room;
};

struct files {
    char name[FILES_MAX][FILE_NAME];
    size_t n;
};

struct loading {
    struct prompt_catalogue *catalogue;
    const struct files *files;
    int file;
};

/* ---- the folder --------------------------------------------------------------------------------
 */

static int by_name(const void *a, const void *b)
{
    return strcmp(a, b);
}

static bool is_prompt_file(const char *name)
{
    size_t length = strlen(name);
    return length > 4 && name[0] != '.' && strcmp(name + length - 4, ".ini") == 0;
}

static bool list_files(const char *directory, struct files *files, struct fault *fault)
{
    DIR *folder = opendir(directory);
    if (folder == NULL)
        return fault_set(fault, FAULT_MISSING,
                         "cannot read the sentences in '%s': %s: install midthrow, or set "
                         "MIDTHROW_SHARE to the folder that holds them.",
                         directory, strerror(errno));
    const struct dirent *file;
    bool ok = true;
    while (ok && (file = readdir(folder)) != NULL) {
        if (!is_prompt_file(file->d_name))
            continue;
        ok = files->n < FILES_MAX && text_copy(files->name[files->n], FILE_NAME, file->d_name);
        files->n++;
    }
    closedir(folder);
    if (!ok)
        return fault_set(
            fault, FAULT_FAILED,
            "'%s' holds more than %d INI files or a name of more than %d letters: keep "
            "the prompt files only.",
            directory, (int)FILES_MAX, (int)FILE_NAME - 1);
    if (files->n == 0)
        return fault_set(fault, FAULT_MISSING,
                         "'%s' holds no INI file: install midthrow, or set MIDTHROW_SHARE to the "
                         "folder that holds its sentences.",
                         directory);
    qsort(files->name, files->n, sizeof files->name[0], by_name);
    return true;
}

/* ---- one entry ---------------------------------------------------------------------------------
 */

static bool refuse(const struct inifile_entry *entry, const char *why, struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED, "'%s' line %d: the sentence '%s' %s", entry->path,
                     entry->line, entry->key, why);
}

static bool grow(struct prompt_catalogue *catalogue)
{
    if (catalogue->n < catalogue->room)
        return true;
    size_t room = catalogue->room == 0 ? 64 : catalogue->room * 2;
    struct sentence *bigger = realloc(catalogue->sentence, room * sizeof *bigger);
    if (bigger == NULL)
        return false;
    catalogue->sentence = bigger;
    catalogue->room = room;
    return true;
}

/* An indented line goes on where the sentence stopped, with one space. */
static bool go_on(struct sentence *sentence, const struct inifile_entry *entry, struct fault *fault)
{
    size_t before = strlen(sentence->text);
    size_t more = strlen(entry->value);
    if (before + 1 + more >= PROMPT_SENTENCE)
        return refuse(entry, "is longer than 1023 bytes: shorten it.", fault);
    char *longer = realloc(sentence->text, before + more + 2);
    if (longer == NULL)
        return refuse(entry, "does not fit into memory: close something and try again.", fault);
    sentence->text = longer;
    if (before > 0)
        longer[before++] = ' ';
    memcpy(longer + before, entry->value, more + 1);
    return true;
}

static bool begin(struct loading *loading, const struct inifile_entry *entry, struct fault *fault)
{
    struct prompt_catalogue *catalogue = loading->catalogue;
    if (catalogue->n >= SENTENCES_MAX)
        return refuse(entry, "is one too many (4096): remove some.", fault);
    char *text = grow(catalogue) ? strdup(entry->value) : NULL;
    if (text == NULL)
        return refuse(entry, "does not fit into memory: close something and try again.", fault);
    struct sentence *sentence = &catalogue->sentence[catalogue->n++];
    *sentence = (struct sentence){.text = text, .file = loading->file, .line = entry->line};
    struct text key = text_into(sentence->key, sizeof sentence->key);
    text_addf(&key, "%s%s%s", entry->section, entry->section[0] == '\0' ? "" : ".", entry->key);
    if (key.cut)
        return refuse(entry, "has a section and key of more than 62 letters: shorten them.", fault);
    return true;
}

static bool take_entry(void *context, const struct inifile_entry *entry, struct fault *fault)
{
    struct loading *loading = context;
    struct prompt_catalogue *catalogue = loading->catalogue;
    if (entry->key[0] == '\0')
        return refuse(entry, "has no key: write 'key = sentence'.", fault);
    if (entry->commented)
        return refuse(entry, "is cut off by a ';' after a space: take the ';' out.", fault);
    if (entry->continued)
        return go_on(&catalogue->sentence[catalogue->n - 1], entry, fault);
    return begin(loading, entry, fault);
}

/* ---- the whole ---------------------------------------------------------------------------------
 */

/* The placeholder that `at`, a '{', begins: its name's length; 0 when it is none. */
static size_t placeholder(const char *at)
{
    size_t length = strspn(at + 1, "abcdefghijklmnopqrstuvwxyz0123456789_");
    return at[length + 1] == '}' ? length : 0;
}

static bool braces_match(const char *text)
{
    while ((text = strpbrk(text, "{}")) != NULL) {
        size_t name = *text == '{' ? placeholder(text) : 0;
        if (name == 0)
            return false;
        text += name + 2;
    }
    return true;
}

static bool check_sentence(const struct files *files, const struct sentence *sentence,
                           struct fault *fault)
{
    const char *why = NULL;
    if (sentence->text[0] == '\0')
        why = "is empty: write it, or take the key out.";
    else if (!braces_match(sentence->text))
        why = "has a brace without its twin: write placeholders as {name}, in small letters.";
    if (why == NULL)
        return true;
    return fault_set(fault, FAULT_FAILED, "'%s' line %d: the sentence '%s' %s",
                     files->name[sentence->file], sentence->line, sentence->key, why);
}

static int by_key(const void *a, const void *b)
{
    const struct sentence *one = a;
    const struct sentence *other = b;
    int order = strcmp(one->key, other->key);
    if (order != 0)
        return order;
    return one->file != other->file ? one->file - other->file : one->line - other->line;
}

static bool check_all(const struct prompt_catalogue *catalogue, const struct files *files,
                      struct fault *fault)
{
    for (size_t i = 0; i < catalogue->n; i++) {
        const struct sentence *sentence = &catalogue->sentence[i];
        if (!check_sentence(files, sentence, fault))
            return false;
        if (i > 0 && strcmp(sentence[-1].key, sentence->key) == 0)
            return fault_set(fault, FAULT_FAILED,
                             "the sentence '%s' is given twice, in '%s' line %d and '%s' line %d: "
                             "keep one.",
                             sentence->key, files->name[sentence[-1].file], sentence[-1].line,
                             files->name[sentence->file], sentence->line);
    }
    return true;
}

static bool read_files(const char *directory, const struct files *files,
                       struct prompt_catalogue *catalogue, struct fault *fault)
{
    struct loading loading = {.catalogue = catalogue, .files = files};
    for (size_t i = 0; i < files->n; i++) {
        char path[PATH_SIZE];
        struct text text = text_into(path, sizeof path);
        text_addf(&text, "%s/%s", directory, files->name[i]);
        if (text.cut)
            return fault_set(fault, FAULT_FAILED, "the path '%.40s...' is too long: shorten it.",
                             directory);
        loading.file = (int)i;
        if (!inifile_read(path, take_entry, &loading, fault))
            return false;
    }
    if (catalogue->n == 0)
        return fault_set(fault, FAULT_MISSING, "'%s' holds no sentence: install midthrow again.",
                         directory);
    qsort(catalogue->sentence, catalogue->n, sizeof *catalogue->sentence, by_key);
    return check_all(catalogue, files, fault);
}

struct prompt_catalogue *prompt_load(const char *directory, struct fault *fault)
{
    struct files *files = calloc(1, sizeof *files);
    struct prompt_catalogue *catalogue = calloc(1, sizeof *catalogue);
    bool ok = files != NULL && catalogue != NULL;
    if (!ok)
        fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    ok =
        ok && list_files(directory, files, fault) && read_files(directory, files, catalogue, fault);
    free(files);
    if (ok)
        return catalogue;
    prompt_free(catalogue);
    return NULL;
}

void prompt_free(struct prompt_catalogue *catalogue)
{
    if (catalogue == NULL)
        return;
    for (size_t i = 0; i < catalogue->n; i++)
        free(catalogue->sentence[i].text);
    free(catalogue->sentence);
    free(catalogue);
}

/* ---- in use ------------------------------------------------------------------------------------
 */

static int key_order(const void *key, const void *sentence)
{
    return strcmp(key, ((const struct sentence *)sentence)->key);
}

const char *prompt_raw(const struct prompt_catalogue *catalogue, const char *key)
{
    const struct sentence *found =
        bsearch(key, catalogue->sentence, catalogue->n, sizeof *catalogue->sentence, key_order);
    return found == NULL ? NULL : found->text;
}

static const char *value_of(const struct prompt_argument *arguments, size_t n, const char *name,
                            size_t length)
{
    for (size_t i = 0; i < n; i++)
        if (strlen(arguments[i].name) == length && memcmp(arguments[i].name, name, length) == 0)
            return arguments[i].value;
    return NULL;
}

/* Fills in what was given; what was put in is not looked at again for braces. False, with its name,
 * at the first placeholder nobody gave. */
static bool fill(struct text *text, const char *raw, const struct prompt_argument *arguments,
                 size_t n, const char **missing, size_t *missing_length)
{
    for (const char *brace; (brace = strchr(raw, '{')) != NULL;) {
        size_t length = placeholder(brace);
        const char *value = value_of(arguments, n, brace + 1, length);
        if (value == NULL) {
            *missing = brace + 1;
            *missing_length = length;
            return false;
        }
        text_add_n(text, raw, (size_t)(brace - raw));
        text_add_n(text, value, strnlen(value, PROMPT_VALUE));
        raw = brace + length + 2;
    }
    text_add(text, raw);
    return true;
}

bool prompt_fill(const struct prompt_catalogue *catalogue, const char *key,
                 const struct prompt_argument *arguments, size_t n, char *out, size_t size,
                 struct fault *fault)
{
    const char *raw = prompt_raw(catalogue, key);
    struct text text = text_into(out, size);
    const char *missing = NULL;
    size_t length = 0;
    if (raw == NULL)
        fault_set(fault, FAULT_FAILED,
                  "there is no sentence '%s' in the prompts: install midthrow again, or add it.",
                  key);
    else if (!fill(&text, raw, arguments, n, &missing, &length))
        fault_set(fault, FAULT_FAILED,
                  "the sentence '%s' wants {%.*s}, which it was not given: mend it in the prompts.",
                  key, (int)length, missing);
    else if (text.cut)
        fault_set(fault, FAULT_FAILED, "the sentence '%s' is too long to say: shorten it.", key);
    else
        return true;
    text_copy(out, size, key);
    return false;
}

bool prompt_has(const struct prompt_catalogue *catalogue, const char *key)
{
    return prompt_raw(catalogue, key) != NULL;
}

bool prompt_is_caution(const char *key)
{
    return strncmp(key, "caution.", strlen("caution.")) == 0;
}

size_t prompt_count(const struct prompt_catalogue *catalogue)
{
    return catalogue->n;
}

const char *prompt_key(const struct prompt_catalogue *catalogue, size_t index)
{
    return index < catalogue->n ? catalogue->sentence[index].key : NULL;
}
