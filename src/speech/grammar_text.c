/* The pieces of a JSGF file: see grammar_text.h. */
#include "speech/grammar_text.h"

#include <stdbool.h>
#include <string.h>

#include "base/text.h"

#define LETTERS "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
static const char HEADER[] = "#JSGF V1.0";

static void wrong(struct grammar_text *text, const char *why)
{
    text->piece = GRAMMAR_WRONG;
    text_copy(text->text, sizeof text->text, why);
}

/* Past blanks, line ends and comments; false where a comment does not end: the library takes one to
 * its line's end only. A carriage return is no blank: it would become part of the word before it.
 */
static bool skip_blanks(struct grammar_text *text)
{
    for (;; text->at++) {
        if (text->at[0] == '/' && text->at[1] == '/') {
            text->at += strcspn(text->at, "\n");
            if (*text->at == '\0')
                return false;
        }
        if (*text->at == '\n')
            text->line++;
        else if (*text->at != ' ' && *text->at != '\t')
            return true;
    }
}

static bool take(struct grammar_text *text, size_t length)
{
    struct text into = text_into(text->text, sizeof text->text);
    text_add_n(&into, text->at, length);
    text->at += length;
    return !into.cut;
}

static void take_rule(struct grammar_text *text)
{
    text->at++;
    size_t length = strspn(text->at, LETTERS "_-.");
    const char *dot = memchr(text->at, '.', length);
    bool dotted = dot != NULL && (dot == text->at || dot == text->at + length - 1 ||
                                  strcspn(dot + 1, ".>") != strcspn(dot + 1, ">"));
    if (length == 0 || text->at[length] != '>' || dotted)
        wrong(text, "a name is <rule> or <grammar.rule>: letters, digits, '_' and '-', no blanks");
    else if (!take(text, length))
        wrong(text, "this name is too long: choose a shorter one");
    else
        text->at++; /* the '>' */
}

static void take_word(struct grammar_text *text, size_t length)
{
    static const struct {
        const char *word;
        int piece;
    } own[] = {
        {"grammar", GRAMMAR_GRAMMAR}, {"import", GRAMMAR_IMPORT}, {"public", GRAMMAR_PUBLIC}};
    if (!take(text, length)) {
        wrong(text, "this word is too long: choose a shorter one");
        return;
    }
    text->piece = GRAMMAR_WORD;
    for (size_t i = 0; i < sizeof own / sizeof own[0]; i++)
        if (strcmp(text->text, own[i].word) == 0)
            text->piece = own[i].piece;
}

static void take_other(struct grammar_text *text)
{
    unsigned char byte = (unsigned char)*text->at;
    struct text why = text_into(text->text, sizeof text->text);
    text->piece = GRAMMAR_WRONG;
    if (byte == '\r')
        text_add(&why, "the line ends with a carriage return: save the file with plain line ends");
    else if (byte < ' ' || byte >= 0x7f)
        text_addf(&why, "the byte 0x%02x has no place here: take it out", byte);
    else
        text_addf(&why, "'%c' is not of the JSGF that midthrow reads: write it without", byte);
}

void grammar_text_next(struct grammar_text *text)
{
    if (text->piece == GRAMMAR_WRONG || text->piece == GRAMMAR_END)
        return;
    text->text[0] = '\0';
    if (!skip_blanks(text)) {
        wrong(text, "the comment's line does not end: put a line's end behind it");
        return;
    }
    size_t word = strspn(text->at, LETTERS "'_-");
    if (*text->at == '\0') {
        text->piece = GRAMMAR_END;
    } else if (word > 0) {
        take_word(text, word);
    } else if (*text->at == '<') {
        text->piece = GRAMMAR_RULE;
        take_rule(text);
    } else if (strchr(";=|()[]", *text->at) != NULL) {
        text->piece = (unsigned char)*text->at++;
    } else {
        take_other(text);
    }
}

void grammar_text_begin(struct grammar_text *text, const char *bytes)
{
    *text = (struct grammar_text){.at = bytes, .line = 1, .piece = GRAMMAR_HEADER};
    if (strncmp(bytes, HEADER, sizeof HEADER - 1) == 0)
        text->at += sizeof HEADER - 1;
    else
        wrong(text, "a grammar's first line is '#JSGF V1.0;': write it there");
}
