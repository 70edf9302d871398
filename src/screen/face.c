/* Big letters and the choice of their size: see face.h. */
#include "screen/face.h"

#include <string.h>

#include "screen/alphabet.h"

/* ---- letters ------------------------------------------------------------------------------ */

static const char *rows_of(uint32_t glyph)
{
    const char *rows = glyph < 128 ? alphabet[glyph] : NULL;
    return rows != NULL ? rows : alphabet['?'];
}

int screen_face_width(uint32_t glyph)
{
    return (int)strcspn(rows_of(glyph), " ");
}

bool screen_face_dot(uint32_t glyph, int x, int y)
{
    const char *rows = rows_of(glyph);
    int width = (int)strcspn(rows, " ");
    if (x < 0 || x >= width || y < 0)
        return false;
    size_t at = (size_t)y * (size_t)(width + 1) + (size_t)x;
    return at < strlen(rows) && rows[at] == '#';
}

/* ---- lines -------------------------------------------------------------------------------- */

/* A size to try. */
struct size {
    int sx, sy;
    bool stout;
    int pitch;
};

/* A column with an upright stroke in it. */
static bool is_stem(uint32_t glyph, int x)
{
    int run = 0;
    for (int y = 0; y < SCREEN_FACE_CAP + SCREEN_FACE_DESCENT; y++) {
        run = screen_face_dot(glyph, x, y) ? run + 1 : 0;
        if (run == 2)
            return true;
    }
    return false;
}

/* Of a letter's column, in dots of the grid. */
static int column_width(uint32_t glyph, int x, const struct screen_fit *fit)
{
    return fit->stout && is_stem(glyph, x) ? 2 * fit->sx : fit->sx;
}

/* In dots of the grid, or in cells of the terminal's own letters. */
static int letter_width(uint32_t glyph, const struct screen_fit *fit)
{
    int width = 0;
    for (int x = 0; x < screen_face_width(glyph); x++)
        width += column_width(glyph, x, fit);
    return fit->sx == 0 ? 1 : width;
}

static int width_of(const char *text, size_t length, const struct screen_fit *fit,
                    enum screen_charset charset)
{
    int width = 0, escape = 0;
    const char *end = text + length;
    while (text < end)
        width += letter_width(screen_next_glyph(&text, &escape, charset), fit) + fit->sx;
    return width == 0 ? 0 : width - fit->sx;
}

/* How much of the text goes on a line of this width: whole words, or as much of the first word as
 * fits when that alone is too long. */
static size_t line_length(const char *text, int width, const struct screen_fit *fit,
                          enum screen_charset charset)
{
    size_t fits = 0;
    for (size_t end = 0; text[end] != '\0';) {
        size_t word = end + strspn(text + end, " ");
        word += strcspn(text + word, " ");
        if (width_of(text, word, fit, charset) > width)
            break;
        fits = end = word;
    }
    if (fits > 0)
        return fits;
    for (size_t end = 1;; end++) {
        bool inside = ((unsigned char)text[end] & 0xc0) == 0x80;
        if (text[end - 1] == '\0' || (!inside && width_of(text, end, fit, charset) > width))
            return fits > 0 ? fits : 1 + strspn(text + 1, "\x80\xbf");
        if (!inside)
            fits = end;
    }
}

/* Breaks the text into lines of at most this width; how many there were room for in `fit`, and
 * whether that was all of it. */
static int wrap(const char *text, int width, int most, enum screen_charset charset,
                struct screen_fit *fit)
{
    size_t used = 0;
    int n = 0;
    text += strspn(text, " ");
    while (*text != '\0' && n < most && n < SCREEN_LINES_MAX) {
        size_t length = line_length(text, width, fit, charset);
        if (used + length + 1 > sizeof fit->text)
            break;
        fit->at[n++] = (uint16_t)used;
        memcpy(fit->text + used, text, length);
        fit->text[used + length] = '\0';
        used += length + 1;
        text += length;
        text += strspn(text, " ");
    }
    fit->cut = *text != '\0';
    return n;
}

static bool has_long_word(const char *text, int width, const struct screen_fit *fit,
                          enum screen_charset charset)
{
    for (text += strspn(text, " "); *text != '\0'; text += strspn(text, " ")) {
        size_t word = strcspn(text, " ");
        if (width_of(text, word, fit, charset) > width)
            return true;
        text += word;
    }
    return false;
}

/* The narrowest width that needs no more lines: so that the last line is not one lonely word. */
static void balance(const char *text, int width, enum screen_charset charset,
                    struct screen_fit *fit)
{
    int low = width / 2, high = width, lines = fit->lines;
    while (low < high) {
        int middle = (low + high) / 2;
        int n = wrap(text, middle, lines, charset, fit);
        bool whole = fit->sx == 0 || !has_long_word(text, middle, fit, charset);
        if (n <= lines && !fit->cut && whole)
            high = middle;
        else
            low = middle + 1;
    }
    fit->lines = wrap(text, high, lines, charset, fit);
}

static bool has_descender(const char *line)
{
    return strpbrk(line, "gjpqy,;_|") != NULL;
}

static int dots_high(const struct screen_fit *fit)
{
    bool below = fit->lines > 0 && has_descender(fit->text + fit->at[fit->lines - 1]);
    return (fit->lines - 1) * fit->pitch + SCREEN_FACE_CAP + (below ? SCREEN_FACE_DESCENT : 0);
}

static bool try_size(const char *text, struct screen_box box, enum screen_charset charset,
                     struct size size, struct screen_fit *fit)
{
    int width = 2 * box.cols;
    fit->sx = size.sx;
    fit->sy = size.sy;
    fit->stout = size.stout;
    fit->pitch = size.pitch;
    if (SCREEN_FACE_CAP * size.sy > 2 * box.rows || has_long_word(text, width, fit, charset))
        return false; /* a word broken in two is not to be read from afar */
    fit->lines = wrap(text, width, SCREEN_LINES_MAX, charset, fit);
    if (fit->cut || dots_high(fit) * size.sy > 2 * box.rows)
        return false;
    struct screen_fit before = *fit;
    balance(text, width, charset, fit);
    if (dots_high(fit) * size.sy > 2 * box.rows)
        *fit = before;
    return true;
}

/* ---- sizes -------------------------------------------------------------------------------- */

/* Can this charset show dots of that size? */
static bool shows(enum screen_charset charset, int sx, int sy)
{
    switch (charset) {
    case SCREEN_ASCII:
        return sx % 2 == 0 && sy % 2 == 0;
    case SCREEN_HALVES:
        return sx % 2 == 0;
    case SCREEN_QUARTERS:
        break;
    }
    return true;
}

static void use_own_letters(const char *text, struct screen_box box, enum screen_charset charset,
                            struct screen_fit *fit)
{
    fit->sx = fit->sy = 0;
    fit->stout = false;
    fit->pitch = 1;
    int rows = box.rows < 1 ? 0 : box.rows;
    fit->lines = box.cols < 1 ? 0 : wrap(text, box.cols, rows, charset, fit);
    if (!fit->cut && fit->lines > 1)
        balance(text, box.cols, charset, fit);
    if (!fit->cut || fit->lines == 0)
        return;
    char *last = fit->text + fit->at[fit->lines - 1];
    size_t length = strlen(last), room = sizeof fit->text - fit->at[fit->lines - 1];
    while (length > 0 && (int)length + 3 > box.cols)
        length--;
    if (length + 4 <= room)
        memcpy(last + length, box.cols < 3 ? "" : "...", box.cols < 3 ? 1 : 4);
}

void screen_fit_text(const char *text, struct screen_box box, enum screen_charset charset,
                     int sy_max, struct screen_fit *fit)
{
    static const int pitches[] = {10, 9};
    memset(fit, 0, sizeof *fit);
    for (int sy = sy_max < SCREEN_SY_MAX ? sy_max : SCREEN_SY_MAX; sy > 0; sy--) {
        const struct size sizes[] = {{2 * sy, sy, false, 0},
                                     {3 * sy / 2, sy, false, 0},
                                     {sy, sy, true, 0},
                                     {sy, sy, false, 0}};
        for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
            struct size size = sizes[i];
            bool halved = i == 1 && sy % 2 != 0;
            for (size_t j = 0; j < sizeof pitches / sizeof pitches[0]; j++) {
                size.pitch = pitches[j];
                if (!halved && shows(charset, size.sx, sy) &&
                    try_size(text, box, charset, size, fit))
                    return;
            }
        }
    }
    use_own_letters(text, box, charset, fit);
}

int screen_fit_least(const char *text, struct screen_box box, enum screen_charset charset,
                     enum screen_width width)
{
    static const struct size narrow[] = {
        [SCREEN_ASCII] = {2, 2, false, 9},
        [SCREEN_HALVES] = {2, 1, false, 9},
        [SCREEN_QUARTERS] = {1, 1, false, 9},
    };
    struct screen_fit fit = {0};
    struct size size = narrow[charset];
    if (width == SCREEN_SQUARE)
        size.sx = 2 * size.sy;
    size.stout = width == SCREEN_STOUT && size.sx == size.sy;
    return try_size(text, box, charset, size, &fit) ? screen_fit_rows(&fit) : 0;
}

/* ---- drawing ------------------------------------------------------------------------------ */

/* Which colour has the quarter of a letter's dot on the side (dx, dy) of it? Its own, or that of
 * the two neighbours on that side when these are alike and the others differ: the rule known as
 * Scale2x (A. Mazzoleni, 2001), which rounds the steps of slanted strokes. */
static bool quarter(uint32_t glyph, int x, int y, int dx, int dy)
{
    bool beside = screen_face_dot(glyph, x + dx, y), over = screen_face_dot(glyph, x, y + dy);
    bool across = screen_face_dot(glyph, x - dx, y), under = screen_face_dot(glyph, x, y - dy);
    if (beside == over && beside != under && over != across)
        return beside;
    return screen_face_dot(glyph, x, y);
}

static bool is_set(uint32_t glyph, const struct screen_fit *fit, bool smooth, int column, int along,
                   int down)
{
    int dot = down / fit->sy;
    if (!smooth)
        return screen_face_dot(glyph, column, dot);
    int dx = along < fit->sx / 2 ? -1 : 1, dy = down % fit->sy < fit->sy / 2 ? -1 : 1;
    return quarter(glyph, column, dot, dx, dy);
}

/* Returns the letter's width with the gap behind it. */
static int draw_letter(struct screen_grid *grid, int x, int y, uint32_t glyph,
                       const struct screen_fit *fit, enum screen_style style)
{
    int start = x, height = (SCREEN_FACE_CAP + SCREEN_FACE_DESCENT) * fit->sy;
    bool smooth = !fit->stout && fit->sx % 4 == 0 && fit->sy % 2 == 0 &&
                  shows(grid->charset, fit->sx / 2, fit->sy / 2);
    for (int column = 0; column < screen_face_width(glyph); column++) {
        int width = column_width(glyph, column, fit);
        for (int down = 0; down < height; down++)
            for (int along = 0; along < width; along++)
                if (is_set(glyph, fit, smooth, column, along, down))
                    screen_grid_dot(grid, x + along, y + down, style);
        x += width;
    }
    return x + fit->sx - start;
}

void screen_fit_draw(struct screen_grid *grid, struct screen_box box, const struct screen_fit *fit,
                     enum screen_style style)
{
    for (int i = 0; i < fit->lines; i++) {
        const char *text = fit->text + fit->at[i];
        if (fit->sx == 0) {
            screen_grid_text(grid, box.row + i, box.col, box.cols, text, style);
            continue;
        }
        int x = 2 * box.col, y = 2 * box.row + i * fit->pitch * fit->sy, escape = 0;
        for (uint32_t glyph; (glyph = screen_next_glyph(&text, &escape, grid->charset)) != 0;)
            x += draw_letter(grid, x, y, glyph, fit, style);
    }
}

int screen_fit_rows(const struct screen_fit *fit)
{
    if (fit->lines == 0)
        return 0;
    return fit->sx == 0 ? fit->lines : (dots_high(fit) * fit->sy + 1) / 2;
}

int screen_fit_cols(const struct screen_fit *fit, enum screen_charset charset)
{
    int widest = 0;
    for (int i = 0; i < fit->lines; i++) {
        const char *line = fit->text + fit->at[i];
        int width = width_of(line, strlen(line), fit, charset);
        widest = width > widest ? width : widest;
    }
    return fit->sx == 0 ? widest : (widest + 1) / 2;
}

double screen_fit_capital(const struct screen_fit *fit)
{
    return fit->sx == 0 ? 2.0 / 3 : SCREEN_FACE_CAP * fit->sy / 2.0;
}
