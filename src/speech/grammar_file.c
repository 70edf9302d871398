/* Reads JSGF files strictly and finds out how large they become: see grammar_file.h. How imports
 * are found, and what their rules are called then: sphinxbase's jsgf.c. */
#include "speech/grammar_file.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/text.h"
#include "speech/grammar_size.h"
#include "speech/grammar_text.h"

enum { NAME = GRAMMAR_NAME, PATH = 4096 };

struct rule {
    char name[NAME];
    size_t file, line;
    struct grammar_text body; /* what follows the '=' */
    enum { UNSEEN, WITHIN, DONE } state;
    struct grammar_size size; /* DONE */
    size_t depth;             /* brackets and references within it; DONE */
};

struct file {
    char name[NAME];
    char *bytes;
    size_t line;             /* where it is first imported */
    size_t importer;         /* by which file */
    size_t open;             /* its public rule; NONE until there is one */
    unsigned imports;        /* a bit for each file */
    struct import {          /* as it is written there; by the number of the file */
        char name[2 * NAME]; /* "file.rule" */
        size_t line;
    } import[GRAMMAR_FILES];
};
static const size_t NONE = (size_t)-1;

struct checking {
    const char *directory;
    struct file file[GRAMMAR_FILES];
    size_t files;
    struct rule rule[GRAMMAR_RULES];
    size_t rules;
    struct fault *fault;
};

/* Where something is read: the piece that is looked at, and whose. */
struct reading {
    struct checking *checking;
    size_t file;
    struct grammar_text text;
};

static bool refuse(const struct checking *checking, size_t file, size_t line, const char *why, ...)
    __attribute__((format(printf, 4, 5)));

static bool refuse(const struct checking *checking, size_t file, size_t line, const char *why, ...)
{
    char what[256];
    va_list arguments;
    va_start(arguments, why);
    vsnprintf(what, sizeof what, why, arguments);
    va_end(arguments);
    return fault_set(checking->fault, FAULT_FAILED, "the grammar '%s/%s.gram', line %zu: %s.",
                     checking->directory, checking->file[file].name, line, what);
}

/* ---- pieces ------------------------------------------------------------------------------------
 */

/* Refuses the piece that is looked at: `wanted` should stand there. */
static bool wants(const struct reading *in, const char *wanted)
{
    const struct grammar_text *text = &in->text;
    if (text->piece == GRAMMAR_WRONG)
        return refuse(in->checking, in->file, text->line, "%s", text->text);
    return refuse(in->checking, in->file, text->line, "%s", wanted);
}

/* Past the piece, if it is that one. */
static bool take(struct reading *in, int piece, const char *wanted)
{
    if (in->text.piece != piece)
        return wants(in, wanted);
    grammar_text_next(&in->text);
    return true;
}

/* The text of the piece, and past it. */
static bool take_name(struct reading *in, int piece, char name[NAME], const char *wanted)
{
    text_copy(name, NAME, in->text.text);
    return take(in, piece, wanted);
}

/* ---- files -------------------------------------------------------------------------------------
 */

/* The library's own: <NULL> and <VOID>, and what it calls a bracket, g00012. */
static bool is_reserved(const char *name)
{
    return strcmp(name, "NULL") == 0 || strcmp(name, "VOID") == 0 ||
           (name[0] == 'g' && strlen(name) > 5 &&
            strspn(name + 1, "0123456789") == strlen(name + 1));
}

static size_t file_named(const struct checking *checking, const char *name, size_t length)
{
    size_t i = 0;
    while (i < checking->files && (strlen(checking->file[i].name) != length ||
                                   memcmp(checking->file[i].name, name, length) != 0))
        i++;
    return i;
}

/* In `file`, the rule that `name` is there: its own, or one that it imports. The library keeps what
 * is imported under its last name too, so neither may be there twice. */
static bool is_taken(const struct checking *checking, size_t file, const char *name)
{
    for (size_t i = 0; i < checking->rules; i++)
        if (checking->rule[i].file == file && strcmp(checking->rule[i].name, name) == 0)
            return true;
    for (size_t i = 0; i < GRAMMAR_FILES; i++) {
        const char *imported = checking->file[file].import[i].name;
        if (imported[0] != '\0' && strcmp(strchr(imported, '.') + 1, name) == 0)
            return true;
    }
    return false;
}

/* import <file.rule>; */
static bool take_import(struct reading *in)
{
    struct checking *checking = in->checking;
    size_t line = in->text.line;
    char name[NAME];
    grammar_text_next(&in->text);
    if (!take_name(in, GRAMMAR_RULE, name, "'import' needs a rule: write 'import <grammar.rule>;'"))
        return false;
    const char *dot = strchr(name, '.');
    if (dot == NULL)
        return refuse(checking, in->file, line,
                      "<%s> is not of another grammar: write 'import <grammar.rule>;'", name);
    if (is_reserved(dot + 1) || is_taken(checking, in->file, dot + 1))
        return refuse(checking, in->file, line,
                      "a rule '%s' is there already: import each once, none with the same name",
                      dot + 1);
    size_t i = file_named(checking, name, (size_t)(dot - name));
    if (i == GRAMMAR_FILES)
        return refuse(checking, in->file, line, "these are more than %d files: import fewer",
                      (int)GRAMMAR_FILES);
    struct file *file = &checking->file[i];
    if (i == checking->files) {
        *file = (struct file){.line = line, .importer = in->file};
        snprintf(file->name, sizeof file->name, "%.*s", (int)(dot - name), name);
        checking->files++;
    }
    struct import *import = &checking->file[in->file].import[i];
    if (import->name[0] != '\0')
        return refuse(checking, in->file, line,
                      "%s.gram is imported in line %zu already: a grammar has one public rule",
                      file->name, import->line);
    text_copy(import->name, sizeof import->name, name);
    import->line = line;
    checking->file[in->file].imports |= 1u << i;
    return take(in, ';', "the import needs ';' here");
}

/* Past the right side of a rule to its semicolon; what is on it is looked at later, when it is
 * known which rules there are. */
static bool skip_body(struct reading *in, const struct rule *rule)
{
    for (;; grammar_text_next(&in->text)) {
        switch (in->text.piece) {
        case ';':
            grammar_text_next(&in->text);
            return true;
        case GRAMMAR_WRONG:
            return wants(in, "");
        case GRAMMAR_GRAMMAR:
        case GRAMMAR_IMPORT:
        case GRAMMAR_PUBLIC:
            return refuse(in->checking, in->file, in->text.line,
                          "'%s' stands within <%s>: end that with ';', or choose another word",
                          in->text.text, rule->name);
        case '=':
        case GRAMMAR_END:
            return refuse(in->checking, in->file, in->text.line,
                          "the rule <%s> of line %zu needs ';' at its end", rule->name, rule->line);
        default:
            break;
        }
    }
}

/* [public] <rule> = expansion; */
static bool take_rule(struct reading *in)
{
    struct checking *checking = in->checking;
    struct file *file = &checking->file[in->file];
    bool open = in->text.piece == GRAMMAR_PUBLIC;
    if (open)
        grammar_text_next(&in->text);
    if (checking->rules == GRAMMAR_RULES)
        return refuse(checking, in->file, in->text.line, "more than %d rules: make it of fewer",
                      (int)GRAMMAR_RULES);
    struct rule rule = {.file = in->file, .line = in->text.line};
    if (!take_name(in, GRAMMAR_RULE, rule.name, "a rule begins here: write '<name> = words;'"))
        return false;
    if (strchr(rule.name, '.') != NULL || is_reserved(rule.name))
        return refuse(checking, in->file, rule.line,
                      "<%s> cannot be the name of a rule: choose another", rule.name);
    if (is_taken(checking, in->file, rule.name))
        return refuse(checking, in->file, rule.line,
                      "there is a rule <%s> already: choose another name", rule.name);
    if (open && file->open != NONE)
        return refuse(checking, in->file, rule.line,
                      "<%s> is public already: leave 'public' out here",
                      checking->rule[file->open].name);
    if (in->text.piece != '=')
        return wants(in, "a rule needs '=' here");
    rule.body = in->text;
    if (open)
        file->open = checking->rules;
    grammar_text_next(&in->text);
    checking->rule[checking->rules++] = rule;
    return skip_body(in, &rule);
}

static bool read_statements(struct checking *checking, size_t file)
{
    struct reading in = {.checking = checking, .file = file};
    char name[NAME];
    checking->file[file].open = NONE;
    grammar_text_begin(&in.text, checking->file[file].bytes);
    if (!take(&in, GRAMMAR_HEADER, "") || !take(&in, ';', "the header needs ';' here") ||
        !take(&in, GRAMMAR_GRAMMAR, "'grammar NAME;' belongs here"))
        return false;
    size_t line = in.text.line;
    if (!take_name(&in, GRAMMAR_WORD, name, "'grammar' needs its name here") ||
        !take(&in, ';', "'grammar NAME' needs ';' here"))
        return false;
    if (strcmp(name, checking->file[file].name) != 0)
        return refuse(checking, file, line, "it calls itself '%s': give it the name of its file",
                      name);
    while (in.text.piece == GRAMMAR_IMPORT)
        if (!take_import(&in))
            return false;
    while (in.text.piece != GRAMMAR_END)
        if (!take_rule(&in))
            return false;
    return checking->file[file].open != NONE ||
           refuse(checking, file, in.text.line, "no rule is public: write 'public' before one");
}

static bool read_file(struct checking *checking, size_t file)
{
    struct fault fault = {0};
    char path[PATH];
    size_t length = 0;
    struct text text = text_into(path, PATH);
    text_addf(&text, "%s/%s.gram", checking->directory, checking->file[file].name);
    char **bytes = &checking->file[file].bytes;
    if (!text.cut)
        *bytes = file_read(path, GRAMMAR_BYTES, &length, &fault);
    if (*bytes != NULL)
        return strlen(*bytes) == length
                   ? read_statements(checking, file)
                   : refuse(checking, file, 1, "it holds a zero byte: take that out");
    if (file == 0)
        return fault_set(checking->fault, fault.code, "%s", fault.sentence);
    return refuse(checking, checking->file[file].importer, checking->file[file].line,
                  "no '%s.gram' can be read beside it: put it there, or take the import out",
                  checking->file[file].name);
}

/* ---- what files import --------------------------------------------------------------------------
 */

/* The library takes for the grammar's public rule the first it meets whose grammar's name the
 * grammar's own begins with: "turn" would do for "turns". */
static bool is_mistaken(const struct checking *checking, size_t file)
{
    const char *name = checking->file[file].name;
    return file != 0 && strncmp(checking->file[0].name, name, strlen(name)) == 0;
}

static bool check_import(const struct checking *checking, size_t file, size_t imported)
{
    const struct import *import = &checking->file[file].import[imported];
    if (import->name[0] == '\0')
        return true;
    const char *rule = checking->rule[checking->file[imported].open].name;
    return strcmp(strchr(import->name, '.') + 1, rule) == 0 ||
           refuse(checking, file, import->line,
                  "the public rule of %s.gram is <%s>: import <%s.%s>",
                  checking->file[imported].name, rule, checking->file[imported].name, rule);
}

/* What each file imports, and what those do, until nothing is new: none may import itself. */
static bool check_imports(struct checking *checking)
{
    /* gcc's sanitizer build does not see that there are no more */
    const size_t n = checking->files < GRAMMAR_FILES ? checking->files : GRAMMAR_FILES;
    for (size_t round = 0; round < n; round++)
        for (size_t i = 0; i < n; i++)
            for (size_t j = 0; j < n; j++)
                if ((checking->file[i].imports >> j & 1) != 0)
                    checking->file[i].imports |= checking->file[j].imports;
    for (size_t i = 0; i < n; i++) {
        const struct file *file = &checking->file[i];
        if ((file->imports >> i & 1) != 0)
            return refuse(checking, file->importer, file->line,
                          "%s.gram imports itself, at once or through others: take one import out",
                          file->name);
        if (is_mistaken(checking, i))
            return refuse(checking, file->importer, file->line,
                          "the name '%s' begins with '%s': give one of the two another name",
                          checking->file[0].name, file->name);
        for (size_t j = 0; j < n; j++)
            if (!check_import(checking, i, j))
                return false;
    }
    return true;
}

/* ---- rules -------------------------------------------------------------------------------------
 */

struct part {
    struct grammar_size size;
    size_t depth;
};

static bool measure(struct checking *checking, struct rule *rule, size_t depth);
static bool take_alternatives(struct reading *in, int close, size_t depth, struct part *part);

/* The rule that a reference is: of this file, or just as it was imported. */
static struct rule *rule_meant(const struct reading *in, const char *name)
{
    struct checking *checking = in->checking;
    if (strchr(name, '.') != NULL) {
        for (size_t i = 0; i < checking->files; i++)
            if (strcmp(checking->file[in->file].import[i].name, name) == 0)
                return &checking->rule[checking->file[i].open];
        return NULL;
    }
    for (size_t i = 0; i < checking->rules; i++)
        if (checking->rule[i].file == in->file && strcmp(checking->rule[i].name, name) == 0)
            return &checking->rule[i];
    return NULL;
}

/* NOLINTNEXTLINE(misc-no-recursion): GRAMMAR_NESTING deep at most */
static bool take_reference(struct reading *in, size_t depth, struct part *part)
{
    struct rule *rule = rule_meant(in, in->text.text);
    if (rule == NULL)
        return refuse(in->checking, in->file, in->text.line,
                      "there is no rule <%s>: write it, or import it from its grammar",
                      in->text.text);
    if (rule->state == WITHIN)
        return refuse(in->checking, in->file, in->text.line,
                      "<%s> is part of itself, at once or through others: write it without",
                      in->text.text);
    if (!measure(in->checking, rule, depth))
        return false;
    *part = (struct part){rule->size, rule->depth};
    grammar_text_next(&in->text);
    return true;
}

/* A bracket or a reference: whatever has a graph of its own.
 * NOLINTNEXTLINE(misc-no-recursion): GRAMMAR_NESTING deep at most */
static bool take_part(struct reading *in, size_t depth, struct part *part)
{
    int piece = in->text.piece;
    if (piece == GRAMMAR_RULE)
        return take_reference(in, depth, part);
    if (piece == '[') {
        struct grammar_way left_out = grammar_way();
        grammar_way_nothing(&left_out);
        grammar_size_add(&part->size, &left_out);
    }
    grammar_text_next(&in->text);
    return take_alternatives(in, piece == '[' ? ']' : ')', depth, part);
}

/* Words and parts up to a '|' or what closes them, one at least.
 * NOLINTNEXTLINE(misc-no-recursion): GRAMMAR_NESTING deep at most */
static bool take_way(struct reading *in, size_t depth, struct part *whole)
{
    struct grammar_way way = grammar_way();
    for (size_t n = 0;; n++) {
        int piece = in->text.piece;
        if (piece == GRAMMAR_WORD) {
            grammar_way_word(&way);
            grammar_text_next(&in->text);
        } else if (piece == '(' || piece == '[' || piece == GRAMMAR_RULE) {
            struct part part = {0};
            size_t line = in->text.line;
            if (depth < GRAMMAR_NESTING && !take_part(in, depth + 1, &part))
                return false;
            if (depth + 1 + part.depth > GRAMMAR_NESTING)
                return refuse(in->checking, in->file, line,
                              "more than %d brackets and rules are within one another: write fewer",
                              (int)GRAMMAR_NESTING);
            grammar_way_part(&way, &part.size);
            whole->depth = part.depth + 1 > whole->depth ? part.depth + 1 : whole->depth;
        } else if (n == 0) {
            return wants(in, "a word, a <rule> or a bracket belongs here");
        } else {
            grammar_size_add(&whole->size, &way);
            return true;
        }
    }
}

/* NOLINTNEXTLINE(misc-no-recursion): GRAMMAR_NESTING deep at most */
static bool take_alternatives(struct reading *in, int close, size_t depth, struct part *part)
{
    while (take_way(in, depth, part)) {
        if (in->text.piece == close) {
            grammar_text_next(&in->text);
            return true;
        }
        if (in->text.piece != '|')
            return refuse(in->checking, in->file, in->text.line,
                          "'%c' or '|' belongs here: close the brackets in the order they open",
                          close);
        grammar_text_next(&in->text);
    }
    return false;
}

/* NOLINTNEXTLINE(misc-no-recursion): GRAMMAR_NESTING deep at most */
static bool measure(struct checking *checking, struct rule *rule, size_t depth)
{
    if (rule->state == DONE)
        return true;
    struct reading in = {checking, rule->file, rule->body};
    struct part part = {0};
    rule->state = WITHIN;
    grammar_text_next(&in.text); /* the '=' */
    if (!take_alternatives(&in, ';', depth, &part))
        return false;
    if (part.size.words > GRAMMAR_WORDS || part.size.jumps > GRAMMAR_JUMPS)
        return refuse(checking, rule->file, rule->line,
                      "<%s> becomes too large when its rules are written out: make it of less",
                      rule->name);
    rule->size = part.size;
    rule->depth = part.depth;
    rule->state = DONE;
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
    bool ok = text_copy(checking->file[0].name, NAME, name) ||
              fault_set(fault, FAULT_USAGE, "no grammar has so long a name: shorten it.");
    for (size_t i = 0; ok && i < checking->files; i++) /* it grows by what they import */
        ok = read_file(checking, i);
    ok = ok && check_imports(checking);
    for (size_t i = 0; ok && i < checking->rules; i++)
        ok = measure(checking, &checking->rule[i], 0);
    if (words != NULL)
        *words = ok ? (size_t)checking->rule[checking->file[0].open].size.words : 0;
    for (size_t i = 0; i < checking->files; i++)
        free(checking->file[i].bytes);
    free(checking);
    return ok;
}
