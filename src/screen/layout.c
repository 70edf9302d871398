/* Where everything goes: see layout.h. From top to bottom: where the job is, what was said on the
 * way, the question, what was heard, the balance, the keys, the microphone. Every part first gets
 * the rows that the terminal's own letters need; then, in the order of what must be read from afar,
 * those of the smallest big letters; what is left is shared by weight. */
#include "screen/layout.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "screen/picture.h"

enum {
    EDGE = 3,       /* columns left of everything: the rail and a gap */
    BIG_ROWS = 24,  /* from here on two rows at the foot */
    TALL_ROWS = 40, /* from here on the microphone is told in big letters too */
    NO_LARGER = 6,  /* sy of a number */
    BEFORE_ROWS = 2,
};

/* ---- parts -------------------------------------------------------------------------------- */

static void draw_head(const struct screen_view *view, struct screen_grid *grid)
{
    char text[160];
    struct text line = text_into(text, sizeof text);
    text_add(&line, view->phase[0] != '\0' ? view->phase : "midthrow");
    if (view->round > 0)
        text_addf(&line, ", round %d", view->round);
    int used = screen_grid_text(grid, 0, EDGE, grid->cols - EDGE - 1, text, SCREEN_SOFT);
    if (view->order[0] == '\0')
        return;
    snprintf(text, sizeof text, "work order %s", view->order);
    int width = screen_text_width(text, grid->charset);
    if (EDGE + used + 2 + width < grid->cols)
        screen_grid_text(grid, 0, grid->cols - 1 - width, width, text, SCREEN_SOFT);
}

/* What was said on the way to the question, its end where there is no room for all. */
static int draw_before(const struct screen_view *view, struct screen_grid *grid,
                       struct screen_box box)
{
    struct screen_fit fit;
    const char *text = view->before;
    if (text[0] == '\0')
        return 0;
    for (;;) {
        screen_fit_text(text, box, grid->charset, 0, &fit);
        const char *next = strstr(text, ". ");
        if (!fit.cut || next == NULL)
            break;
        text = next + 2;
    }
    screen_fit_draw(grid, box, &fit, SCREEN_SOFT);
    return screen_fit_rows(&fit);
}

/* The frame of a caution: a hatched band with the word in it. Returns what is inside. */
static struct screen_box draw_frame(struct screen_grid *grid, struct screen_box box)
{
    screen_grid_fill(grid, box, '/', SCREEN_WARNING);
    screen_grid_text(grid, box.row, box.col + 2, box.cols - 2, " CAUTION ", SCREEN_WARNING);
    screen_grid_text(grid, box.row + box.rows - 1, box.col + 2, box.cols - 2,
                     " SAY IT WHOLE, OR KEY IT ", SCREEN_WARNING);
    struct screen_box inside = {box.row + 1, box.col + 2, box.rows - 2, box.cols - 4};
    screen_grid_fill(grid, inside, ' ', SCREEN_PLAIN);
    inside.col++;
    inside.cols -= 2;
    return inside;
}

/* The frame says "caution", and what to say or to key stands below it with the keys. */
static void caution_text(const struct screen_view *view, char *out, size_t size)
{
    static const char word[] = "Caution. ", answer[] = " Then say: ";
    const char *from = view->sentence;
    if (strncmp(from, word, sizeof word - 1) == 0)
        from += sizeof word - 1;
    text_copy(out, size, from);
    char *then = strstr(out, answer);
    if (then == NULL)
        return;
    char phrase[SCREEN_WORDS];
    text_copy(phrase, sizeof phrase, then + sizeof answer - 1);
    phrase[strcspn(phrase, ".")] = '\0';
    if (strstr(view->keys, phrase) != NULL)
        *then = '\0';
}

static int draw_caution(const struct screen_view *view, struct screen_grid *grid,
                        struct screen_box box, double *capital)
{
    struct screen_fit fit;
    char text[SCREEN_SENTENCE];
    struct screen_box inside = {0, 0, box.rows - 2, grid->cols - 6};
    caution_text(view, text, sizeof text);
    screen_fit_text(text, inside, grid->charset, SCREEN_SY_MAX, &fit);
    int rows = screen_fit_rows(&fit) + 2;
    inside = draw_frame(grid, (struct screen_box){box.row, 0, rows, grid->cols});
    screen_fit_draw(grid, inside, &fit, SCREEN_STRONG);
    *capital = screen_fit_capital(&fit);
    return rows;
}

static int draw_question(const struct screen_view *view, struct screen_grid *grid,
                         struct screen_box box, double *capital)
{
    struct screen_fit fit;
    if (view->caution)
        return draw_caution(view, grid, box, capital);
    screen_fit_text(view->sentence, box, grid->charset, SCREEN_SY_MAX, &fit);
    int rows = screen_fit_rows(&fit);
    screen_grid_fill(grid, (struct screen_box){box.row, 0, rows, EDGE - 1}, ' ', SCREEN_RAIL);
    screen_fit_draw(grid, box, &fit, SCREEN_STRONG);
    *capital = screen_fit_capital(&fit);
    return rows;
}

/* ---- what was heard ----------------------------------------------------------------------- */

static enum screen_style verdict_style(const struct screen_view *view)
{
    static const enum screen_style styles[] = {SCREEN_GOOD, SCREEN_DOUBT, SCREEN_BAD};
    return styles[view->verdict];
}

static void heard_label(const struct screen_view *view, char *out, size_t size)
{
    static const char *const verdicts[] = {"HEARD", "HEARD, NOT SURE", "NOT UNDERSTOOD"};
    struct text text = text_into(out, size);
    if (view->source == SCREEN_BY_EAR)
        text_add(&text, verdicts[view->verdict]);
    else if (view->source == SCREEN_BY_PAD)
        text_addf(&text, "KEYS %s", view->pad);
    else
        text_add(&text, "TYPED");
}

/* The number with its unit, and beside it the words it was heard in. */
static int draw_value(const struct screen_view *view, struct screen_grid *grid,
                      struct screen_box box, double *capital)
{
    char text[2 * SCREEN_SHORT + 2];
    struct screen_fit fit;
    snprintf(text, sizeof text, "%s %s", view->number, view->unit);
    struct screen_box half = {box.row, box.col, box.rows, box.cols * 3 / 5};
    screen_fit_text(text, half, grid->charset, NO_LARGER, &fit);
    screen_fit_draw(grid, half, &fit, SCREEN_NUMBER);
    *capital = screen_fit_capital(&fit);
    int rows = screen_fit_rows(&fit), used = screen_fit_cols(&fit, grid->charset) + 3 + 3 * fit.sy;
    struct screen_box beside = {box.row, box.col + used, rows, box.cols - used};
    char words[SCREEN_WORDS + SCREEN_SHORT + 2];
    snprintf(words, sizeof words, "%s%s%s", view->also, view->also[0] != '\0' ? ", " : "",
             view->has_heard ? view->words : "");
    screen_fit_text(view->also[0] != '\0' && rows < 8 ? view->also : words, beside, grid->charset,
                    NO_LARGER, &fit);
    screen_fit_draw(grid, beside, &fit, SCREEN_PLAIN);
    return rows;
}

/* Words and keys stand no larger than the question, but in big letters even where that is not. */
static int as_question(const struct screen_layout *sizes)
{
    int sy = (int)(2 * sizes->question / SCREEN_FACE_CAP);
    return sy > 2 ? sy : 2;
}

static int draw_large(struct screen_grid *grid, struct screen_box box, const char *text, int sy_max,
                      enum screen_style style, double *capital)
{
    struct screen_fit fit;
    screen_fit_text(text, box, grid->charset, sy_max, &fit);
    screen_fit_draw(grid, box, &fit, style);
    *capital = screen_fit_capital(&fit);
    return screen_fit_rows(&fit);
}

/* What is being typed goes before what was heard last. */
static int draw_heard(const struct screen_view *view, struct screen_grid *grid,
                      struct screen_box box, struct screen_layout *sizes)
{
    char label[SCREEN_SHORT + 8];
    struct screen_box below = {box.row + 1, box.col, box.rows - 1, box.cols};
    if (view->entry[0] != '\0') {
        screen_grid_text(grid, box.row, box.col, box.cols, "KEYS SO FAR, THEN ENTER",
                         SCREEN_NUMBER);
        return 1 + draw_large(grid, below, view->entry, NO_LARGER, SCREEN_NUMBER, &sizes->heard);
    }
    bool advised = view->has_value && strcmp(view->what, "taken") != 0;
    if (advised)
        text_copy(label, sizeof label, view->what);
    else
        heard_label(view, label, sizeof label);
    enum screen_style style = advised ? SCREEN_NUMBER : verdict_style(view);
    int used = screen_grid_text(grid, box.row, box.col, box.cols, label, style);
    const char *words = view->words[0] != '\0' ? view->words : "(nothing)";
    if (box.rows == 1) {
        used += 2;
        screen_grid_text(grid, box.row, box.col + used, box.cols - used, words, SCREEN_PLAIN);
        return 1;
    }
    if (view->has_value)
        return 1 + draw_value(view, grid, below, &sizes->heard);
    return 1 + draw_large(grid, below, words, as_question(sizes), style, &sizes->heard);
}

/* ---- keys --------------------------------------------------------------------------------- */

/* In the terminal's own letters each key is a cap before its meaning; one to a row where there is
 * room. */
static int draw_caps(struct screen_grid *grid, struct screen_box box, const char *keys)
{
    int items = 1, row = 0, col = 0;
    for (const char *at = keys; (at = strstr(at, ", ")) != NULL; at += 2)
        items++;
    bool listed = items <= box.rows;
    while (*keys != '\0' && row < box.rows) {
        char item[SCREEN_WORDS];
        const char *end = strstr(keys, ", ");
        struct text text = text_into(item, sizeof item);
        text_add_n(&text, keys, end != NULL ? (size_t)(end - keys) : strlen(keys));
        keys = end != NULL ? end + 2 : keys + strlen(keys);
        int width = screen_text_width(item, grid->charset) + 1;
        if (col > 0 && (listed || col + width > box.cols)) {
            row++;
            col = 0;
        }
        if (row == box.rows)
            break;
        size_t cap = strcspn(item, " ");
        const char *meaning = item + cap;
        char key[SCREEN_WORDS + 2];
        snprintf(key, sizeof key, "%.*s", (int)cap, item);
        col +=
            screen_grid_text(grid, box.row + row, box.col + col, box.cols - col, key,
                             strpbrk(key, "0123456789-+*/.") != NULL ? SCREEN_KEY : SCREEN_PLAIN);
        col += screen_grid_text(grid, box.row + row, box.col + col, box.cols - col, meaning,
                                SCREEN_PLAIN);
        col += 3;
    }
    return row + 1 < box.rows ? row + 1 : box.rows;
}

/* A key stays on the line of its meaning: blanks within an item are made ones that do not break. */
static void keep_items_whole(const char *keys, char *out, size_t size)
{
    struct text text = text_into(out, size);
    for (const char *at = keys; *at != '\0'; at++) {
        bool between = at > keys && at[-1] == ',';
        if (*at == ' ' && !between)
            text_add(&text, "\xc2\xa0");
        else
            text_add_n(&text, at, 1);
    }
}

/* The items whole, or broken where one of them is too long for a line. */
static void fit_keys(const struct screen_view *view, const struct screen_grid *grid,
                     struct screen_box box, int sy_max, struct screen_fit *fit)
{
    char whole[2 * SCREEN_WORDS];
    keep_items_whole(view->keys, whole, sizeof whole);
    screen_fit_text(whole, box, grid->charset, sy_max, fit);
    if (fit->sx == 0)
        screen_fit_text(view->keys, box, grid->charset, sy_max, fit);
}

static int draw_keys(const struct screen_view *view, struct screen_grid *grid,
                     struct screen_box box, struct screen_layout *sizes)
{
    struct screen_fit fit;
    fit_keys(view, grid, box, as_question(sizes), &fit);
    sizes->keys = screen_fit_capital(&fit);
    if (fit.sx == 0)
        return draw_caps(grid, box, view->keys);
    screen_fit_draw(grid, box, &fit, SCREEN_PLAIN);
    return screen_fit_rows(&fit);
}

/* ---- the foot ----------------------------------------------------------------------------- */

enum { METER_LOW_DB = -60, METER_COLS = 20 };

static int meter_at(double db)
{
    double part = (db - METER_LOW_DB) / -METER_LOW_DB;
    int col = part > 0 ? (int)(part * METER_COLS + 0.5) : 0; /* NaN and -inf are 0 too */
    return part > 1 ? METER_COLS : col;
}

static int draw_meter(struct screen_grid *grid, int row, int col, const struct screen_level *level)
{
    int loud = meter_at(level->level_db), noise = meter_at(level->noise_db);
    bool ascii = grid->charset == SCREEN_ASCII;
    screen_grid_put(grid, row, col, '[', SCREEN_SOFT);
    for (int i = 0; i < METER_COLS; i++)
        screen_grid_put(grid, row, col + 1 + i,
                        i < loud ? (ascii ? '#' : 0x2588) : (ascii ? '.' : 0x2591),
                        i >= loud         ? SCREEN_SOFT
                        : level->clipping ? SCREEN_BAD
                                          : SCREEN_GOOD);
    if (noise > 0 && noise <= METER_COLS)
        screen_grid_put(grid, row, col + noise, '|', SCREEN_STRONG);
    screen_grid_put(grid, row, col + 1 + METER_COLS, ']', SCREEN_SOFT);
    return METER_COLS + 2;
}

static const char *ear_words(const struct screen_view *view, enum screen_style *style)
{
    static const struct {
        const char *words;
        enum screen_style style;
    } ears[] = {
        [SCREEN_EAR_NONE] = {"No microphone: number pad or keys", SCREEN_SOFT},
        [SCREEN_EAR_OPEN] = {"Listening", SCREEN_GOOD},
        [SCREEN_EAR_CLOSED] = {"Speaking, ear closed", SCREEN_SOFT},
        [SCREEN_EAR_PAD] = {"Ear off: NUMBER PAD ONLY", SCREEN_DOUBT},
    };
    enum screen_ear ear = view->has_level ? view->level.ear : SCREEN_EAR_NONE;
    *style = ears[ear].style;
    return ears[ear].words;
}

static bool has_meter(const struct screen_view *view)
{
    return view->has_level && view->level.ear != SCREEN_EAR_NONE;
}

static void level_words(const struct screen_level *level, char *out, size_t size)
{
    snprintf(out, size, "%.0f dB  noise %.0f dB", level->level_db, level->noise_db);
}

/* In one row: what the ear does, a meter with the noise as its mark, both in figures. */
static void draw_ear(const struct screen_view *view, struct screen_grid *grid, int row, int end)
{
    enum screen_style style;
    char text[64];
    const char *words = ear_words(view, &style);
    int col = EDGE;
    col += screen_grid_text(grid, row, col, end - col, words, style);
    if (!has_meter(view) || col + METER_COLS + 3 > end)
        return;
    col += 2 + draw_meter(grid, row, col + 1, &view->level);
    level_words(&view->level, text, sizeof text);
    if (col + (int)strlen(text) <= end)
        col += 1 + screen_grid_text(grid, row, col, end - col, text, SCREEN_SOFT);
    if (view->level.clipping)
        screen_grid_text(grid, row, col, end - col, "TOO LOUD", SCREEN_BAD);
}

/* The same in big letters, the meter three rows high. Returns the rows used from `row` up. */
static int draw_tall_ear(const struct screen_view *view, struct screen_grid *grid, int row)
{
    enum { ROWS = 5 };
    enum screen_style style;
    struct screen_fit fit;
    const struct screen_level *level = &view->level;
    struct screen_box box = {row - ROWS + 1, EDGE, ROWS, grid->cols - EDGE - 1};
    screen_fit_text(ear_words(view, &style), box, grid->charset, 1, &fit);
    screen_fit_draw(grid, box, &fit, style);
    box.col += screen_fit_cols(&fit, grid->charset) + 3;
    if (box.col + 2 * METER_COLS > grid->cols - 1)
        return ROWS;
    for (int i = 0; i < 3; i++)
        draw_meter(grid, box.row + i, box.col, level);
    box.col += METER_COLS + 4;
    box.cols = grid->cols - 1 - box.col;
    char text[80];
    level_words(level, text, sizeof text);
    if (level->clipping)
        text_copy(text, sizeof text, "TOO LOUD");
    screen_fit_text(text, box, grid->charset, 1, &fit);
    screen_fit_draw(grid, box, &fit, level->clipping ? SCREEN_BAD : SCREEN_SOFT);
    return ROWS;
}

/* Returns its rows. */
static int draw_foot(const struct screen_view *view, struct screen_grid *grid)
{
    static const char always[] = "- back, + again, * help, / where, ++ why, -- stop";
    int row = grid->rows - 1, end = grid->cols - 1;
    if (grid->rows < BIG_ROWS) {
        draw_ear(view, grid, row, end);
        return 1;
    }
    draw_caps(grid, (struct screen_box){row, EDGE, 1, end - EDGE}, always);
    if (grid->rows >= TALL_ROWS && has_meter(view))
        return 2 + draw_tall_ear(view, grid, row - 1);
    draw_ear(view, grid, row - 1, end);
    return 2;
}

/* ---- a small window ----------------------------------------------------------------------- */

/* Question and keys, in the terminal's own letters; the entry in the last row. */
static void lay_out_small(const struct screen_view *view, struct screen_grid *grid)
{
    struct screen_fit fit;
    char text[SCREEN_SENTENCE + 16];
    int rows = grid->rows - 1;
    snprintf(text, sizeof text, "%s%s", view->caution ? "! " : "", view->sentence);
    screen_fit_text(text, (struct screen_box){0, 0, rows, grid->cols}, grid->charset, 0, &fit);
    screen_fit_draw(grid, (struct screen_box){0, 0, rows, grid->cols}, &fit,
                    view->caution ? SCREEN_WARNING : SCREEN_STRONG);
    int row = screen_fit_rows(&fit);
    draw_caps(grid, (struct screen_box){row, 0, rows - row, grid->cols}, view->keys);
    snprintf(text, sizeof text, "> %s", view->entry[0] != '\0' ? view->entry : view->words);
    screen_grid_text(grid, grid->rows - 1, 0, grid->cols, text,
                     view->entry[0] != '\0' ? SCREEN_NUMBER : verdict_style(view));
}

/* ---- sharing the rows --------------------------------------------------------------------- */

enum part { BEFORE, QUESTION, HEARD, BALANCE, KEYS, PARTS };

struct plan {
    int rows[PARTS];
    int weight[PARTS]; /* of what is left */
    int free;
    int gap; /* rows between two parts */
};

static bool is_shown(const struct plan *plan, enum part part)
{
    return plan->rows[part] > 0;
}

/* Rows that a text needs in the terminal's own letters, or in the smallest big ones; 0: cannot be.
 */
enum { OWN_LETTERS = -1 };
static int rows_of(const char *text, int cols, const struct screen_grid *grid, int width)
{
    struct screen_fit fit;
    struct screen_box box = {0, 0, grid->rows, cols};
    if (width != OWN_LETTERS)
        return screen_fit_least(text, box, grid->charset, (enum screen_width)width);
    screen_fit_text(text, box, grid->charset, 0, &fit);
    return screen_fit_rows(&fit);
}

/* The same of the keys; whole items may take a line or two more. */
static int keys_rows(const struct screen_view *view, int cols, const struct screen_grid *grid)
{
    char whole[2 * SCREEN_WORDS];
    keep_items_whole(view->keys, whole, sizeof whole);
    int rows = rows_of(whole, cols, grid, SCREEN_NARROW);
    return rows > 0 ? rows : rows_of(view->keys, cols, grid, SCREEN_NARROW);
}

/* The part gets `rows` if that many more are free. */
static void grow(struct plan *plan, enum part part, int rows)
{
    int more = rows - plan->rows[part];
    if (more <= 0 || more > plan->free)
        return;
    plan->rows[part] = rows;
    plan->free -= more;
}

static void share_rest(struct plan *plan)
{
    int weights = 0, rest = plan->free;
    for (enum part part = 0; part < PARTS; part++)
        weights += is_shown(plan, part) ? plan->weight[part] : 0;
    for (enum part part = 0; part < PARTS && weights > 0; part++)
        if (is_shown(plan, part))
            plan->rows[part] += rest * plan->weight[part] / weights;
}

static void make_plan(const struct screen_view *view, const struct screen_grid *grid, int rows,
                      struct plan *plan)
{
    char question[SCREEN_SENTENCE], value[2 * SCREEN_SHORT + 2];
    int cols = grid->cols - EDGE - 1, frame = view->caution ? 2 : 0;
    bool typing = view->entry[0] != '\0', number = typing || view->has_value;
    bool heard = number || view->has_heard;
    bool both_read = view->forward_n > 0 && view->back_n > 0;
    memset(plan, 0, sizeof *plan);
    text_copy(question, sizeof question, view->sentence);
    if (view->caution)
        caution_text(view, question, sizeof question);
    snprintf(value, sizeof value, "%s %s", view->number, view->unit);
    const char *large = typing ? view->entry : view->has_value ? value : view->words;
    int question_cols = view->caution ? grid->cols - 6 : cols;

    plan->free = rows;
    grow(plan, QUESTION, rows_of(question, question_cols, grid, OWN_LETTERS) + frame);
    grow(plan, KEYS, view->keys[0] != '\0' ? rows_of(view->keys, cols, grid, OWN_LETTERS) : 0);
    grow(plan, HEARD, heard ? 1 : 0);
    int big = rows_of(question, question_cols, grid, SCREEN_NARROW);
    bool is_big = big > 0 && big + frame - plan->rows[QUESTION] <= plan->free;
    grow(plan, QUESTION, big > 0 ? big + frame : 0);
    big = rows_of(large, number ? cols * 3 / 5 : cols, grid, SCREEN_NARROW);
    if (number)
        grow(plan, HEARD, big > 0 ? 1 + big : 2);
    if (view->has_balance && !view->caution)
        grow(plan, BALANCE, both_read ? SCREEN_PICTURE_ROWS : 2);
    grow(plan, KEYS, keys_rows(view, cols, grid));
    if (is_big)
        grow(plan, QUESTION, rows_of(question, question_cols, grid, SCREEN_STOUT) + frame);
    grow(plan, BEFORE, view->before[0] != '\0' ? 1 : 0);
    if (heard && !number && is_big) /* nothing heard stands larger than the question */
        grow(plan, HEARD, big > 0 ? 1 + big : 0);
    big = is_big ? rows_of(question, question_cols, grid, SCREEN_SQUARE) : 0;
    grow(plan, QUESTION, big > 0 ? big + frame : 0);
    if (plan->free >= PARTS - 1) {
        plan->gap = 1;
        plan->free -= PARTS - 1;
    }
    plan->weight[QUESTION] = 6;
    plan->weight[HEARD] = number ? 5 : is_big ? 2 : 0;
    plan->weight[BALANCE] = both_read ? 4 : 2;
    plan->weight[KEYS] = view->caution ? 4 : 2;
    share_rest(plan);
}

/* ---- the whole ---------------------------------------------------------------------------- */

static int draw_part(enum part part, const struct screen_view *view, struct screen_grid *grid,
                     struct screen_box box, struct screen_layout *sizes)
{
    switch (part) {
    case BEFORE:
        return draw_before(view, grid, box);
    case QUESTION:
        return draw_question(view, grid, box, &sizes->question);
    case HEARD:
        return draw_heard(view, grid, box, sizes);
    case BALANCE:
        screen_picture_draw(grid, box, view);
        return box.rows;
    case KEYS:
        return draw_keys(view, grid, box, sizes);
    case PARTS:
        break;
    }
    return 0;
}

void screen_layout(const struct screen_view *view, struct screen_grid *grid,
                   struct screen_layout *layout)
{
    /* cppcheck-suppress uninitvar ; only its address is taken here */
    struct screen_layout unused, *sizes = layout != NULL ? layout : &unused;
    struct plan plan;
    memset(sizes, 0, sizeof *sizes);
    screen_grid_clear(grid);
    if (grid->rows < 2 || grid->cols < 1)
        return;
    if (grid->rows < SCREEN_ROWS_MIN || grid->cols < SCREEN_COLS_MIN) {
        lay_out_small(view, grid);
        return;
    }
    draw_head(view, grid);
    int foot = draw_foot(view, grid), spare = 0;
    struct screen_box box = {.row = 1, .col = EDGE, .cols = grid->cols - EDGE - 1};
    make_plan(view, grid, grid->rows - 1 - foot, &plan);
    for (enum part part = 0; part < PARTS; part++) {
        if (!is_shown(&plan, part))
            continue;
        box.rows = plan.rows[part] + spare; /* what the part before did not need */
        int used = draw_part(part, view, grid, box, sizes);
        spare = box.rows - used;
        box.row += used + plan.gap;
    }
}
