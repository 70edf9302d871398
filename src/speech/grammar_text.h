/*
 * The pieces of a JSGF file, one after the other: what midthrow's grammars are made of, and nothing
 * else. Whatever is a piece here is the same piece to sphinxbase's scanner (_jsgf_scanner.l), which
 * takes more: tags, weights, quotes, '*' and '+', comments between slashes and stars, words of any
 * bytes. Where the two could disagree about where something ends, it is wrong here.
 *
 *     struct grammar_text text;
 *     for (grammar_text_begin(&text, bytes); text.piece != GRAMMAR_END; grammar_text_next(&text))
 *         if (text.piece == GRAMMAR_WRONG)
 *             puts(text.text); // what is wrong in line text.line, and what to do
 *
 * The format: W3C's note of 2000, "JSpeech Grammar Format".
 */
#ifndef MIDTHROW_SPEECH_GRAMMAR_TEXT_H
#define MIDTHROW_SPEECH_GRAMMAR_TEXT_H

#include <stddef.h>

enum { GRAMMAR_NAME = 96 }; /* bytes of a name or a word, the terminator counted */

/* A piece: one of these, or the mark itself: ; = | ( ) [ ] */
enum {
    GRAMMAR_END = 0,
    GRAMMAR_WORD = 256, /* text: letters, digits, ' _ - */
    GRAMMAR_RULE,       /* text: what stands in < >; letters, digits, _ - and at most one dot */
    GRAMMAR_HEADER,     /* "#JSGF V1.0", which only the first bytes of a file may be */
    GRAMMAR_GRAMMAR, /* the words that begin a statement; the library takes them for that anywhere
                      */
    GRAMMAR_IMPORT,
    GRAMMAR_PUBLIC,
    GRAMMAR_WRONG, /* text: what is wrong; there is no next piece */
};

struct grammar_text {
    const char *at; /* what follows the piece; the bytes stay the caller's */
    size_t line;    /* of the piece, from 1 */
    int piece;
    char text[GRAMMAR_NAME];
};

/* `bytes` end with a 0; the first piece. */
void grammar_text_begin(struct grammar_text *text, const char *bytes);
void grammar_text_next(struct grammar_text *text);

#endif
