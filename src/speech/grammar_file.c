/* How large a JSGF grammar becomes, without its becoming so: see grammar_file.h. The format is
 * W3C's note of 2000, "JSpeech Grammar Format"; how imports are found, sphinxbase's jsgf.c. */
#include "speech/grammar_file.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <sphinxbase/jsgf.h>

#include "base/file.h"
#include "base/text.h"

enum { RULES = 1024, PIECES = 16384, NAME = 96, PATH = 4096 };

/* A rule is so many words and brackets, and what its references stand for. */
struct rule {
    char name[NAME];
    size_t file;
    size_t words;
    size_t first, last; /* references: checking.reference[first .. last) */
    enum { UNSEEN, WITHIN, DONE } state;
    size_t whole; /* words, when it is written out; DONE */
};

struct reference {
    char name[NAME]; /* "pkg.rule" or "rule" */
};

struct file {
    char name[NAME];    /* it is directory/name.gram */
    char grammar[NAME]; /* as it calls itself, which is what references go by */
    unsigned imports;   /* a bit for each file */
};

struct checking {
    const char *directory;
    struct file file[GRAMMAR_FILES];
    size_t files;
    struct rule rule[RULES];
    size_t rules;
    struct reference reference[PIECES];
    size_t references;
    struct fault *fault;
};

static bool refuse(const struct checking *checking, size_t file, const char *why)
{
    return fault_set(checking->fault, FAULT_FAILED, "the grammar '%s/%s.gram' %s: mend its JSGF.",
                     checking->directory, checking->file[file].name, why);
}

/* ---- pieces of text ---------------------------------------------------------------------------
 */

/* Past blanks and comments. */
static const char *skip_blanks(const char *at)
{
    for (;;) {
        at += strspn(at, " \t\r\n");
        if (at[0] == '/' && at[1] == '/') {
            at += strcspn(at, "\n");
        } else if (at[0] == '/' && at[1] == '*') {
            const char *end = strstr(at + 2, "*/");
            at = end == NULL ? at + strlen(at) : end + 2;
        } else {
            return at;
        }
    }
}

/* Past what opens with `at[0]` and ends with `close`; to the end of the text without one. */
static const char *skip_to(const char *at, char close)
{
    const char *end = strchr(at + 1, close);
    return end == NULL ? at + strlen(at) : end + 1;
}

/* "<name>" without its brackets and blanks; the rest of the text in *next. */
static bool take_name(const char *at, char name[NAME], const char **next)
{
    size_t length = strcspn(at + 1, ">");
    const char *from = at + 1 + strspn(at + 1, " \t\r\n");
    const char *to = at + 1 + length;
    while (to > from && strchr(" \t\r\n", to[-1]) != NULL)
        to--;
    struct text text = text_into(name, NAME);
    if (to > from)
        text_add_n(&text, from, (size_t)(to - from));
    *next = at + 1 + length + (at[1 + length] == '>');
    return to > from && !text.cut;
}

/* ---- reading ----------------------------------------------------------------------------------
 */

/* `pkg.rule` of an import: the file is pkg.gram in the same directory. */
static bool want_file(struct checking *checking, size_t from, const char *name)
{
    char file[NAME];
    const char *dot = strrchr(name, '.');
    if (dot == NULL ||
        strspn(name, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
                     "0123456789_-.*") != strlen(name) ||
        memchr(name, '.', (size_t)(dot - name)) != NULL)
        return refuse(checking, from, "imports what is no rule of a grammar beside it");
    struct text text = text_into(file, sizeof file);
    text_add_n(&text, name, (size_t)(dot - name));
    size_t i = 0;
    while (i < checking->files && strcmp(checking->file[i].name, file) != 0)
        i++;
    if (i == GRAMMAR_FILES)
        return refuse(checking, from, "imports too many others");
    checking->file[from].imports |= 1u << i;
    if (i == checking->files)
        text_copy(checking->file[checking->files++].name, NAME, file);
    return true;
}

/* What each file imports, and what those do, until nothing is new. */
static bool imports_go_round(struct checking *checking)
{
    for (size_t round = 0; round < checking->files; round++)
        for (size_t i = 0; i < checking->files; i++)
            for (size_t j = 0; j < checking->files; j++)
                if ((checking->file[i].imports >> j & 1) != 0)
                    checking->file[i].imports |= checking->file[j].imports;
    for (size_t i = 0; i < checking->files; i++)
        if ((checking->file[i].imports >> i & 1) != 0)
            return !refuse(checking, i, "is imported by what it imports");
    return false;
}

static bool add_reference(struct checking *checking, size_t file, const char *name)
{
    if (checking->references == PIECES)
        return refuse(checking, file, "has too many references");
    text_copy(checking->reference[checking->references++].name, NAME, name);
    return true;
}

/* The right side of a rule, up to its semicolon. */
static const char *take_body(struct checking *checking, size_t file, const char *at,
                             struct rule *rule)
{
    char name[NAME];
    int depth = 0;
    rule->first = checking->references;
    for (at = skip_blanks(at); *at != '\0' && *at != ';'; at = skip_blanks(at)) {
        switch (*at) {
        case '<':
            if (!take_name(at, name, &at) || !add_reference(checking, file, name)) {
                refuse(checking, file, "has a reference without a name");
                return NULL;
            }
            break;
        case '(':
        case '[':
            if (++depth > GRAMMAR_NESTING) {
                refuse(checking, file, "has too many brackets within brackets");
                return NULL;
            }
            rule->words++;
            at++;
            break;
        case ')':
        case ']':
            depth--;
            at++;
            break;
        case '{':
            at = skip_to(at, '}');
            break;
        case '/': /* a weight: a comment was passed over */
            at = skip_to(at, '/');
            break;
        case '"':
            at = skip_to(at, '"');
            rule->words++;
            break;
        default: {
            size_t length = strcspn(at, " \t\r\n<>()[]{}/\"|;*+=");
            rule->words += length > 0;
            at += length > 0 ? length : 1;
        }
        }
    }
    rule->last = checking->references;
    return *at == ';' ? at + 1 : at;
}

static const char *take_rule(struct checking *checking, size_t file, const char *at)
{
    if (checking->rules == RULES) {
        refuse(checking, file, "has too many rules");
        return NULL;
    }
    struct rule *rule = &checking->rule[checking->rules];
    *rule = (struct rule){.file = file};
    if (!take_name(at, rule->name, &at)) {
        refuse(checking, file, "has a rule without a name");
        return NULL;
    }
    checking->rules++;
    return take_body(checking, file, at, rule);
}

static bool is_word(const char *at, const char *word)
{
    size_t length = strlen(word);
    return strncmp(at, word, length) == 0 && strchr(" \t\r\n<", at[length]) != NULL;
}

static bool take_import(struct checking *checking, size_t file, const char **at)
{
    char name[NAME];
    *at = skip_blanks(*at + strlen("import"));
    if (**at != '<' || !take_name(*at, name, at))
        return refuse(checking, file, "imports nothing");
    return want_file(checking, file, name);
}

static void take_grammar(struct checking *checking, size_t file, const char *at)
{
    struct text text = text_into(checking->file[file].grammar, NAME);
    at = skip_blanks(at + strlen("grammar"));
    text_add_n(&text, at, strcspn(at, " \t\r\n;"));
}

static bool read_rules(struct checking *checking, size_t file, const char *at)
{
    while (*(at = skip_blanks(at)) != '\0') {
        if (is_word(at, "import")) {
            if (!take_import(checking, file, &at))
                return false;
        } else if (is_word(at, "grammar")) {
            take_grammar(checking, file, at);
            at += strcspn(at, ";");
        } else if (*at == '<') {
            at = take_rule(checking, file, at);
            if (at == NULL)
                return false;
        } else {
            at++; /* "public", the header's line, a semicolon */
        }
    }
    return true;
}

static bool path_of(const struct checking *checking, size_t file, char path[PATH])
{
    struct text text = text_into(path, PATH);
    text_addf(&text, "%s/%s.gram", checking->directory, checking->file[file].name);
    return !text.cut;
}

static bool read_file(struct checking *checking, size_t file)
{
    char path[PATH];
    size_t length = 0;
    bool fits = path_of(checking, file, path);
    char *bytes = !fits ? NULL : file_read(path, GRAMMAR_BYTES, &length, checking->fault);
    if (bytes == NULL)
        return false;
    bool ok = strlen(bytes) == length || refuse(checking, file, "holds a zero byte");
    ok = ok && read_rules(checking, file, bytes);
    free(bytes);
    return ok;
}

/* ---- counting ---------------------------------------------------------------------------------
 */

/* Could the reference, made in that file, be that rule? */
static bool is_meant(const struct checking *checking, const char *reference, size_t from,
                     const struct rule *rule)
{
    const struct file *file = &checking->file[rule->file];
    const char *dot = strrchr(reference, '.');
    if (dot == NULL)
        return rule->file == from && strcmp(rule->name, reference) == 0;
    size_t length = (size_t)(dot - reference);
    return strcmp(rule->name, dot + 1) == 0 &&
           ((strlen(file->name) == length && memcmp(file->name, reference, length) == 0) ||
            (strlen(file->grammar) == length && memcmp(file->grammar, reference, length) == 0));
}

static size_t count(struct checking *checking, struct rule *rule, int depth);

/* The largest rule that may be meant; what the library will not find counts as a word. A rule
 * within itself is refused. */
/* NOLINTNEXTLINE(misc-no-recursion): see count */
static size_t count_reference(struct checking *checking, const char *reference, size_t from,
                              int depth)
{
    size_t most = 1;
    for (size_t i = 0; i < checking->rules; i++) {
        if (!is_meant(checking, reference, from, &checking->rule[i]))
            continue;
        size_t words = count(checking, &checking->rule[i], depth);
        most = words > most ? words : most;
    }
    return most;
}

/* GRAMMAR_WORDS + 1: too many, or without end. */
/* NOLINTNEXTLINE(misc-no-recursion): GRAMMAR_NESTING deep at most */
static size_t count(struct checking *checking, struct rule *rule, int depth)
{
    if (rule->state == DONE)
        return rule->whole;
    if (rule->state == WITHIN || depth > GRAMMAR_NESTING)
        return GRAMMAR_WORDS + 1;
    rule->state = WITHIN;
    size_t words = rule->words;
    for (size_t i = rule->first; i < rule->last && words <= GRAMMAR_WORDS; i++)
        words += count_reference(checking, checking->reference[i].name, rule->file, depth + 1);
    rule->whole = words > GRAMMAR_WORDS ? GRAMMAR_WORDS + 1 : words;
    rule->state = DONE;
    return rule->whole;
}

static bool parses(const struct checking *checking, size_t file)
{
    char path[PATH];
    jsgf_t *jsgf = path_of(checking, file, path) ? jsgf_parse_file(path, NULL) : NULL;
    if (jsgf == NULL)
        return refuse(checking, file, "is imported, but not understood");
    jsgf_grammar_free(jsgf);
    return true;
}

/* A grammar with an import that does not parse can be neither used nor freed: the library keeps the
 * NULL that it got. So each is tried by itself, those with the fewest imports first: whatever a
 * file imports, and that in turn, is fewer than what the file itself does. */
static bool imports_parse(const struct checking *checking)
{
    for (int imports = 0; imports < GRAMMAR_FILES; imports++)
        for (size_t i = 1; i < checking->files; i++) {
            int its = 0;
            for (size_t j = 0; j < checking->files; j++)
                its += (int)(checking->file[i].imports >> j & 1);
            if (its == imports && !parses(checking, i))
                return false;
        }
    return true;
}

bool grammar_file_check(const char *directory, const char *name, size_t *words, struct fault *fault)
{
    struct checking *checking = calloc(1, sizeof *checking);
    if (checking == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    checking->directory = directory;
    checking->fault = fault;
    checking->files = 1;
    bool ok = text_copy(checking->file[0].name, NAME, name);
    for (size_t i = 0; ok && i < checking->files; i++) /* it grows by what they import */
        ok = read_file(checking, i);
    ok = ok && !imports_go_round(checking);
    size_t most = 0;
    for (size_t i = 0; ok && i < checking->rules; i++) {
        size_t whole = count(checking, &checking->rule[i], 0);
        most = whole > most ? whole : most;
    }
    if (ok && most > GRAMMAR_WORDS)
        ok = refuse(checking, 0, "becomes too large when it is written out, or goes round");
    ok = ok && imports_parse(checking);
    if (words != NULL)
        *words = most;
    free(checking);
    return ok;
}
