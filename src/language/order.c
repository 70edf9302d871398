/* Work-order numbers: digits as they were said, leading zeros kept, or any one typed word. */
#include "language/parts.h"

#include <string.h>

enum { SAID_MOST = 10 }; /* digits one can say; the grammar has no more */

static bool is_graphic(char c)
{
    return c > ' ' && c < 0x7f;
}

static bool is_alphanumeric(char c)
{
    return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/* One typed word of printable ASCII with a letter or a digit in it: its length, 0 when it is not.
 */
static size_t one_word(const char *word)
{
    size_t length = 0;
    bool speaks = false;
    for (; is_graphic(word[length]); length++)
        speaks = speaks || is_alphanumeric(word[length]);
    bool ends = word[length + strspn(word + length, " \t\r\n")] == '\0';
    return speaks && ends ? length : 0;
}

enum language_outcome order_parse(struct span span, const char *raw, struct language_value *value,
                                  struct text *why)
{
    char digits[LANGUAGE_DIGITS_MAX];
    value->type = LANGUAGE_DIGITS;
    memset(value->as.digits, 0, sizeof value->as.digits);
    raw += strspn(raw, " \t\r\n");
    size_t length = one_word(raw);
    if (length >= LANGUAGE_DIGITS_MAX) {
        text_add(why, "That is too long for a work order: 31 characters at most.");
        return LANGUAGE_OUT_OF_SENSE;
    }
    if (digits_said(span, true, digits, sizeof digits)) {
        if (strlen(digits) > SAID_MOST && length == 0) {
            text_add(why, "That is more than ten digits: say a shorter work order, or type it.");
            return LANGUAGE_OUT_OF_SENSE;
        }
        text_copy(value->as.digits, sizeof value->as.digits, digits);
        return LANGUAGE_OK;
    }
    memcpy(value->as.digits, raw, length);
    return length > 0 ? LANGUAGE_OK : LANGUAGE_NONSENSE;
}

static bool can_be_said(const char *digits)
{
    size_t n = strspn(digits, "0123456789");
    return n > 0 && n <= SAID_MOST && digits[n] == '\0';
}

void order_words(struct text *text, const char *digits)
{
    if (can_be_said(digits))
        digits_words(text, digits);
    else
        text_add(text, digits);
}

void order_spelled(struct text *text, const char *digits)
{
    static const char marks[] = "-/._";
    static const char *const names[] = {"dash", "slash", "point", "underscore"};
    for (const char *at = digits; *at != '\0'; at++) {
        const char *mark = strchr(marks, *at);
        text_add(text, at > digits ? " " : "");
        if (mark != NULL)
            text_add(text, names[mark - marks]);
        else
            digits_words(text, (const char[]){*at, '\0'});
    }
}
