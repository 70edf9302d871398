/* Exact lengths: parse, print, convert, compare. No floating point until a caller asks for
 * millimetres, no product that has not been checked first. */
#include "measure/length.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "base/text.h"

/* One of each unit in millimetres: 1 in = 25.4 mm exactly (NIST SP 811, B.6; 1959 agreement). */
static const struct {
    const char *suffix;
    uint64_t mm_num, mm_den;
} units[] = {
    [MEASURE_INCH] = {"in", 127, 5},
    [MEASURE_THOU] = {"thou", 127, 5000},
    [MEASURE_MM] = {"mm", 1, 1},
};
enum { UNITS = sizeof units / sizeof units[0] };

static const struct {
    const char *name;
    enum measure_unit unit;
} unit_names[] = {
    {"\"", MEASURE_INCH},     {"in", MEASURE_INCH}, {"inch", MEASURE_INCH},
    {"inches", MEASURE_INCH}, {"mm", MEASURE_MM},   {"thou", MEASURE_THOU},
};

static enum measure_unit checked(enum measure_unit unit)
{
    return (unsigned)unit < UNITS ? unit : MEASURE_MM;
}

static uint64_t magnitude(int64_t value)
{
    return value < 0 ? ~(uint64_t)value + 1 : (uint64_t)value;
}

static uint64_t gcd(uint64_t a, uint64_t b)
{
    while (b != 0) {
        uint64_t rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

static struct measure_length from_magnitudes(bool negative, uint64_t num, uint64_t den,
                                             enum measure_unit unit)
{
    if (num > INT64_MAX)
        num = INT64_MAX;
    if (den > INT64_MAX)
        den = INT64_MAX;
    int64_t signed_num = negative ? -(int64_t)num : (int64_t)num;
    return (struct measure_length){signed_num, (int64_t)den, unit};
}

struct measure_length measure_length_of(int64_t num, int64_t den, enum measure_unit unit)
{
    if (den == 0)
        return (struct measure_length){0, 1, checked(unit)};
    uint64_t top = magnitude(num), bottom = magnitude(den);
    uint64_t common = gcd(top, bottom);
    bool negative = (num < 0) != (den < 0);
    return from_magnitudes(negative, top / common, bottom / common, checked(unit));
}

/* `length` times factor_num/factor_den (small, not 0). Reduced crosswise before multiplying, so
 * that every length a person gives stays exact; one too large for int64 is halved until it fits. */
static struct measure_length scaled(struct measure_length length, uint64_t factor_num,
                                    uint64_t factor_den, enum measure_unit unit)
{
    uint64_t num = magnitude(length.num), den = magnitude(length.den);
    if (den == 0)
        return (struct measure_length){0, 1, unit};
    uint64_t common = gcd(factor_num, factor_den);
    factor_num /= common;
    factor_den /= common;
    common = gcd(num, factor_den);
    num /= common;
    factor_den /= common;
    common = gcd(den, factor_num);
    den /= common;
    factor_num /= common;
    common = gcd(num, den); /* a caller's struct need not be in lowest terms */
    num /= common;
    den /= common;
    while ((num > INT64_MAX / factor_num || den > INT64_MAX / factor_den) && num > 0 && den > 1) {
        num /= 2;
        den /= 2;
    }
    if (num == 0)
        return (struct measure_length){0, 1, unit};
    if (num > INT64_MAX / factor_num)
        num = INT64_MAX / factor_num;
    return from_magnitudes((length.num < 0) != (length.den < 0), num * factor_num, den * factor_den,
                           unit);
}

struct measure_length measure_length_in(struct measure_length length, enum measure_unit unit)
{
    enum measure_unit from = checked(length.unit), to = checked(unit);
    return scaled(length, units[from].mm_num * units[to].mm_den,
                  units[from].mm_den * units[to].mm_num, to);
}

double measure_length_mm(struct measure_length length)
{
    struct measure_length mm = measure_length_in(length, MEASURE_MM);
    return (double)mm.num / (double)mm.den;
}

/* a/b against c/d, all positive or zero, b and d not 0, without a product: whole parts first, then
 * the remainders upside down (the continued fractions of both, term by term). */
static int compare_fractions(uint64_t a, uint64_t b, uint64_t c, uint64_t d)
{
    for (;;) {
        uint64_t left = a / b, right = c / d;
        if (left != right)
            return left < right ? -1 : 1;
        uint64_t left_rest = a % b, right_rest = c % d;
        if (left_rest == 0 || right_rest == 0)
            return (left_rest > 0) - (right_rest > 0);
        a = d;
        c = b;
        b = right_rest;
        d = left_rest;
    }
}

int measure_length_compare(struct measure_length a, struct measure_length b)
{
    a = measure_length_in(a, MEASURE_MM);
    b = measure_length_in(b, MEASURE_MM);
    int sign_a = (a.num > 0) - (a.num < 0), sign_b = (b.num > 0) - (b.num < 0);
    if (sign_a != sign_b)
        return sign_a < sign_b ? -1 : 1;
    int order =
        compare_fractions(magnitude(a.num), (uint64_t)a.den, magnitude(b.num), (uint64_t)b.den);
    return sign_a < 0 ? -order : order;
}

struct measure_length measure_length_nearest_64th(double mm)
{
    if (isnan(mm))
        return measure_length_of(0, 1, MEASURE_INCH);
    const double most = 64.0 * (double)MEASURE_LENGTH_MAX;
    /* mm / 25.4 * 64 as one division by an integer, so that an exact tie stays one. */
    double count = round(mm * 320 / 127);
    if (count > most)
        count = most;
    if (count < -most)
        count = -most;
    return measure_length_of((int64_t)count, 64, MEASURE_INCH);
}

/* ---- reading ---------------------------------------------------------------------------- */

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_space(char c)
{
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static const char *past_spaces(const char *at)
{
    while (is_space(*at))
        at++;
    return at;
}

/* What was written, fit to be shown in a sentence: cut short, nothing but printable ASCII. */
struct shown {
    char text[48];
};

static struct shown show(const char *written)
{
    struct shown shown;
    size_t n = 0;
    for (; n < sizeof shown.text - 1 && written[n] != '\0'; n++)
        shown.text[n] = written[n] >= ' ' && written[n] <= '~' ? written[n] : '?';
    shown.text[n] = '\0';
    return shown;
}

enum { DIGITS_MAX = 9 };

/* Reads digits into `value`; how many there were, DIGITS_MAX + 1 for too many. */
static int read_digits(const char **at, int64_t *value)
{
    int count = 0;
    *value = 0;
    for (; is_digit(**at); (*at)++) {
        if (count == DIGITS_MAX)
            return DIGITS_MAX + 1;
        *value = *value * 10 + (**at - '0');
        count++;
    }
    return count;
}

static bool too_long(struct fault *fault, const char *text)
{
    return fault_set(fault, FAULT_USAGE,
                     "'%s' has more digits than a distance needs: write at most %d in each part.",
                     show(text).text, DIGITS_MAX);
}

static bool unreadable(struct fault *fault, const char *text)
{
    return fault_set(fault, FAULT_USAGE,
                     "cannot read '%s' as a distance: write one like 5/16in, 1-5/16in, 0.31in, "
                     "310thou or 7.9mm.",
                     show(text).text);
}

/* A number being read: whole + num/den. */
struct number {
    int64_t whole, num, den;
};

/* "/ 16" after a numerator. */
static bool read_denominator(const char **at, struct number *number, const char *text,
                             struct fault *fault)
{
    *at = past_spaces(*at + 1);
    int digits = read_digits(at, &number->den);
    if (digits > DIGITS_MAX)
        return too_long(fault, text);
    if (digits == 0)
        return unreadable(fault, text);
    if (number->den == 0)
        return fault_set(fault, FAULT_USAGE, "'%s' divides by zero: write a fraction like 5/16in.",
                         show(text).text);
    return true;
}

/* ".31" after the whole part, which may have had no digits. */
static bool read_decimals(const char **at, struct number *number, const char *text,
                          struct fault *fault)
{
    (*at)++;
    int digits = read_digits(at, &number->num);
    if (digits > DIGITS_MAX)
        return too_long(fault, text);
    if (digits == 0)
        return unreadable(fault, text);
    for (number->den = 1; digits > 0; digits--)
        number->den *= 10;
    return true;
}

/* "5/16" of "1-5/16", `at` on its first digit. */
static bool read_fraction_part(const char **at, struct number *number, const char *text,
                               struct fault *fault)
{
    if (read_digits(at, &number->num) > DIGITS_MAX)
        return too_long(fault, text);
    *at = past_spaces(*at);
    if (**at != '/')
        return unreadable(fault, text);
    if (!read_denominator(at, number, text, fault))
        return false;
    if (number->num >= number->den)
        return fault_set(fault, FAULT_USAGE,
                         "the fraction in '%s' is not less than one: write it like 1-5/16in.",
                         show(text).text);
    return true;
}

static bool read_number(const char **at, struct number *number, const char *text,
                        struct fault *fault)
{
    *number = (struct number){.den = 1};
    int digits = read_digits(at, &number->whole);
    if (digits > DIGITS_MAX)
        return too_long(fault, text);
    if (**at == '.')
        return read_decimals(at, number, text, fault);
    if (digits == 0)
        return unreadable(fault, text);
    const char *next = past_spaces(*at);
    if (*next == '/') {
        number->num = number->whole;
        number->whole = 0;
        *at = next;
        return read_denominator(at, number, text, fault);
    }
    if (*next == '-' || *next == '+')
        next = past_spaces(next + 1);
    else if (next == *at)
        return true; /* the unit follows at once */
    if (!is_digit(*next))
        return true; /* "7 mm", or a sign left over, which no unit begins with */
    *at = next;
    return read_fraction_part(at, number, text, fault);
}

static bool same_word(const char *written, size_t length, const char *word)
{
    for (size_t i = 0; i < length; i++)
        if (word[i] == '\0' || lower(written[i]) != word[i])
            return false;
    return word[length] == '\0';
}

static bool read_unit(const char *at, enum measure_unit *unit, const char *text,
                      struct fault *fault)
{
    at = past_spaces(at);
    size_t length = strlen(at);
    while (length > 0 && is_space(at[length - 1]))
        length--;
    if (length == 0)
        return fault_set(fault, FAULT_USAGE,
                         "'%s' has no unit: write in, thou or mm after it, as in 5/16in.",
                         show(text).text);
    for (size_t i = 0; i < sizeof unit_names / sizeof unit_names[0]; i++) {
        if (same_word(at, length, unit_names[i].name)) {
            *unit = unit_names[i].unit;
            return true;
        }
    }
    char first = lower(*at);
    if (first < 'a' || first > 'z')
        return unreadable(fault, text);
    return fault_set(fault, FAULT_USAGE,
                     "'%s' is not a unit known here: write in, thou or mm, as in 5/16in.",
                     show(at).text);
}

bool measure_length_parse(const char *text, struct measure_length *length, struct fault *fault)
{
    const char *at = past_spaces(text == NULL ? "" : text);
    if (*at == '\0')
        return fault_set(fault, FAULT_USAGE,
                         "no distance given: write one like 5/16in, 0.31in, 310thou or 7.9mm.");
    if (*at == '-')
        return fault_set(fault, FAULT_USAGE,
                         "'%s' is negative: a distance is zero or more, as in 5/16in.",
                         show(text).text);
    struct number number;
    enum measure_unit unit = MEASURE_INCH;
    if (!read_number(&at, &number, text, fault) || !read_unit(at, &unit, text, fault))
        return false;
    /* Nine digits in each part: at most (1e9 - 1) 1e9 + 1e9 = 1e18, within int64, over at most 1e9.
     */
    struct measure_length read =
        measure_length_of(number.whole * number.den + number.num, number.den, unit);
    if (read.num > MEASURE_LENGTH_MAX)
        return too_long(fault, text);
    *length = read;
    return true;
}

/* ---- printing --------------------------------------------------------------------------- */

/* Decimal places that hold 1/den exactly, or -1 when nine do not. */
static int decimal_places(uint64_t den)
{
    int twos = 0, fives = 0;
    for (; den % 2 == 0; den /= 2)
        twos++;
    for (; den % 5 == 0; den /= 5)
        fives++;
    int places = twos > fives ? twos : fives;
    return den == 1 && places <= DIGITS_MAX ? places : -1;
}

/* NOLINTBEGIN(clang-analyzer-core.DivideZero): measure_length_of leaves no denominator at zero */
static void print_decimal(struct text *text, uint64_t num, uint64_t den, int places)
{
    uint64_t power = 1;
    for (int i = 0; i < places; i++)
        power *= 10;
    text_addf(text, "%" PRIu64 ".%0*" PRIu64, num / den, places, num % den * (power / den));
}

static void print_fraction(struct text *text, uint64_t num, uint64_t den)
{
    if (num > den)
        text_addf(text, "%" PRIu64 "-", num / den);
    text_addf(text, "%" PRIu64 "/%" PRIu64, num % den, den);
}

void measure_length_print(struct measure_length length, char *out, size_t size)
{
    if (out == NULL || size == 0)
        return;
    struct text text = text_into(out, size);
    enum measure_unit unit = checked(length.unit);
    struct measure_length lowest = measure_length_of(length.num, length.den, unit);
    uint64_t num = magnitude(lowest.num), den = (uint64_t)lowest.den;
    int places = decimal_places(den);
    bool is_64th = unit == MEASURE_INCH && 64 % den == 0;
    if (lowest.num < 0)
        text_add(&text, "-");
    if (den == 1)
        text_addf(&text, "%" PRIu64, num);
    else if (is_64th || places < 0)
        print_fraction(&text, num, den);
    else
        print_decimal(&text, num, den, places);
    text_addf(&text, " %s", units[unit].suffix);
}
/* NOLINTEND(clang-analyzer-core.DivideZero) */
