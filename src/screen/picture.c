/* The balance as a picture: see picture.h. */
#include "screen/picture.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "screen/face.h"

/* ---- where everything goes ---------------------------------------------------------------- */

static double mean_of(const double *mm, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += mm[i];
    return n == 0 ? 0 : sum / (double)n;
}

static double most_of(const double *mm, size_t n)
{
    double most = 0;
    for (size_t i = 0; i < n; i++)
        most = mm[i] > most ? mm[i] : most;
    return most;
}

/* Millimetres from rest, forward positive, as cells from the left end. */
struct scale {
    double low_mm, high_mm;
    int cols;
};

static struct scale scale_of(const struct screen_view *view, int cols)
{
    return (struct scale){-most_of(view->back_mm, view->back_n),
                          most_of(view->forward_mm, view->forward_n), cols};
}

static int at(const struct scale *scale, double mm)
{
    double part = (mm - scale->low_mm) / (scale->high_mm - scale->low_mm);
    int col = (int)lround(part * (scale->cols - 1));
    return col < 0 ? 0 : col >= scale->cols ? scale->cols - 1 : col;
}

bool screen_picture_of(const struct screen_view *view, int cols, struct screen_picture *out)
{
    struct scale scale = scale_of(view, cols);
    if (view->back_n == 0 || view->forward_n == 0 || cols < SCREEN_PICTURE_COLS ||
        !(scale.high_mm > scale.low_mm))
        return false;
    double back_mm = mean_of(view->back_mm, view->back_n);
    double forward_mm = mean_of(view->forward_mm, view->forward_n);
    double middle_mm = (forward_mm - back_mm) / 2, even_mm = view->tolerance_mm / 2;
    *out = (struct screen_picture){
        .back = at(&scale, -back_mm),
        .forward = at(&scale, forward_mm),
        .rest = at(&scale, 0),
        .middle = at(&scale, middle_mm),
        .has_even = even_mm > 0,
        .forward_mm = forward_mm,
        .back_mm = back_mm,
    };
    int half = (int)lround(even_mm / (scale.high_mm - scale.low_mm) * (cols - 1));
    out->even_low = out->middle > half ? out->middle - half : 0;
    out->even_high = out->middle + half < cols ? out->middle + half : cols - 1;
    return true;
}

/* ---- drawing ------------------------------------------------------------------------------ */

enum {
    THROW_SY = 2,      /* the largest letters of the two throws */
    THICK_ROWS = 7,    /* from here on a bar three rows high */
    VERDICT_ROWS = 13, /* from here on a verdict in big letters */
};

/* The marks, by charset: ASCII, the Linux console's fonts, everything else. */
enum mark { TRACK, PIN, EVEN, MIDDLE, REST, POINTER };
static uint32_t mark(const struct screen_grid *grid, enum mark which)
{
    static const uint32_t marks[][3] = {
        [TRACK] = {'-', 0x2500, 0x2500}, [PIN] = {'|', 0x2588, 0x2588},
        [EVEN] = {'=', 0x2592, 0x2592},  [MIDDLE] = {'+', 0x253c, 0x253c},
        [REST] = {'O', 0x2588, 0x25cf},  [POINTER] = {'^', '^', 0x25b2},
    };
    return marks[which][grid->charset];
}

static void name_throw(const char *name, const double *mm, size_t n, char *out, size_t size)
{
    if (n == 0)
        snprintf(out, size, "%s: to be read", name);
    else
        snprintf(out, size, "%s %.2f mm", name, mean_of(mm, n));
}

/* "back 7.14 mm" and "forward 8.33 mm", as large as the box allows both, at its two ends. */
static void draw_throws(struct screen_grid *grid, struct screen_box box,
                        const struct screen_view *view)
{
    char back[64], forward[64];
    struct screen_fit left, right;
    struct screen_box half = {box.row, box.col, box.rows, box.cols / 2 - 1};
    name_throw("back", view->back_mm, view->back_n, back, sizeof back);
    name_throw("forward", view->forward_mm, view->forward_n, forward, sizeof forward);
    screen_fit_text(back, half, grid->charset, THROW_SY, &left);
    screen_fit_text(forward, half, grid->charset, left.sy, &right);
    screen_fit_text(back, half, grid->charset, right.sy, &left);
    screen_fit_draw(grid, half, &left, view->back_n > 0 ? SCREEN_PLAIN : SCREEN_SOFT);
    int cols = screen_fit_cols(&right, grid->charset);
    half.col = box.col + box.cols - cols;
    half.cols = cols;
    screen_fit_draw(grid, half, &right, view->forward_n > 0 ? SCREEN_PLAIN : SCREEN_SOFT);
}

static void draw_bar(struct screen_grid *grid, struct screen_box box,
                     const struct screen_picture *picture, bool track, bool thick)
{
    int row = box.row;
    if (track)
        screen_grid_fill(grid,
                         (struct screen_box){row, box.col + picture->back, 1,
                                             picture->forward - picture->back + 1},
                         mark(grid, TRACK), SCREEN_SOFT);
    if (picture->has_even)
        screen_grid_fill(grid,
                         (struct screen_box){row, box.col + picture->even_low, 1,
                                             picture->even_high - picture->even_low + 1},
                         mark(grid, EVEN), SCREEN_GOOD);
    screen_grid_put(grid, row, box.col + picture->middle, mark(grid, MIDDLE), SCREEN_PLAIN);
    screen_grid_put(grid, row, box.col + picture->back, mark(grid, PIN), SCREEN_STRONG);
    screen_grid_put(grid, row, box.col + picture->forward, mark(grid, PIN), SCREEN_STRONG);
    screen_grid_put(grid, row, box.col + picture->rest, mark(grid, thick ? PIN : REST),
                    SCREEN_NUMBER);
}

/* A tick where each reading puts its pin, and what the marks are. */
static void draw_marks(struct screen_grid *grid, struct screen_box box,
                       const struct screen_view *view, const struct screen_picture *picture)
{
    struct scale scale = scale_of(view, box.cols);
    for (size_t i = 0; i < view->back_n; i++)
        screen_grid_put(grid, box.row, box.col + at(&scale, -view->back_mm[i]), '\'', SCREEN_PLAIN);
    for (size_t i = 0; i < view->forward_n; i++)
        screen_grid_put(grid, box.row, box.col + at(&scale, view->forward_mm[i]), '\'',
                        SCREEN_PLAIN);
    /* each word on its own side of its mark, so that the two never meet */
    bool rest_left = picture->rest < picture->middle;
    int rest = box.col + picture->rest, middle = box.col + picture->middle;
    screen_grid_put(grid, box.row, rest, mark(grid, POINTER), SCREEN_NUMBER);
    screen_grid_text(grid, box.row, rest_left ? rest - 5 : rest + 2, 4, "rest", SCREEN_NUMBER);
    if (rest == middle)
        return;
    screen_grid_put(grid, box.row, middle, mark(grid, MIDDLE), SCREEN_PLAIN);
    screen_grid_text(grid, box.row, rest_left ? middle + 2 : middle - 7, 6, "middle", SCREEN_PLAIN);
}

/* What it means, in words. */
static void draw_verdict(struct screen_grid *grid, struct screen_box box,
                         const struct screen_view *view)
{
    char text[128];
    const struct measure_balance *balance = &view->balance;
    double offset_mm = balance->offset_mm;
    const char *side = offset_mm > 0 ? "back" : "forward";
    if (!view->balanced)
        snprintf(text, sizeof text, "no verdict yet: %s",
                 view->forward_n == 0 || view->back_n == 0 ? "one throw is still to be read"
                                                           : "more readings are needed");
    else if (balance->verdict == MEASURE_EVEN)
        snprintf(text, sizeof text, "EVEN: %.0f %% sure", 100 * balance->probability_even);
    else if (balance->verdict == MEASURE_UNEVEN)
        snprintf(text, sizeof text, "UNEVEN: rest sits %.2f mm too far %s", fabs(offset_mm), side);
    else
        snprintf(text, sizeof text, "CANNOT TELL YET: rest seems %.2f mm too far %s",
                 fabs(offset_mm), side);
    struct screen_fit fit;
    screen_fit_text(text, box, grid->charset, 1, &fit);
    screen_fit_draw(grid, box, &fit,
                    !view->balanced                      ? SCREEN_SOFT
                    : balance->verdict == MEASURE_EVEN   ? SCREEN_GOOD
                    : balance->verdict == MEASURE_UNEVEN ? SCREEN_BAD
                                                         : SCREEN_DOUBT);
}

void screen_picture_draw(struct screen_grid *grid, struct screen_box box,
                         const struct screen_view *view)
{
    struct screen_picture picture;
    bool drawn = screen_picture_of(view, box.cols, &picture);
    int thick = !drawn ? 0 : box.rows >= THICK_ROWS ? 3 : 1;
    int verdict = box.rows >= VERDICT_ROWS ? 5 : 1;
    int names = box.rows - verdict - thick - (drawn ? 1 : 0);
    draw_throws(grid, (struct screen_box){box.row, box.col, names, box.cols}, view);
    struct screen_box line = {box.row + names, box.col, 1, box.cols};
    for (int i = 0; i < thick; i++, line.row++)
        draw_bar(grid, line, &picture, i == thick / 2, thick > 1);
    if (drawn) {
        draw_marks(grid, line, view, &picture);
        line.row++;
    }
    line.rows = verdict;
    draw_verdict(grid, line, view);
}
