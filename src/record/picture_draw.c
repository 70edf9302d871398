/* Drawing the pictures: marks at the places that picture.c worked out. */
#include <math.h>

#include "record/markup.h"
#include "record/picture.h"
#include "record/picture_parts.h"
#include "record/writeup_words.h"

enum { CAP = 4 }; /* half the end of a bar */

/* ---- parts ---------------------------------------------------------------------------------- */

/* The picture's name and what it shows, for those who hear the page: WAI-ARIA's img role, labelled
 * by title and desc (W3C, SVG Accessibility API Mappings). */
static void begin(struct text *svg, const char *id, int height, const char *title)
{
    text_addf(svg,
              "<svg class=\"picture\" id=\"%s\" viewBox=\"0 0 %d %d\" role=\"img\" "
              "aria-labelledby=\"%s-title %s-desc\" xmlns=\"http://www.w3.org/2000/svg\">\n"
              "<title id=\"%s-title\">",
              id, PICTURE_WIDTH, height, id, id, id);
    markup_add(svg, title);
    text_addf(svg, "</title>\n<desc id=\"%s-desc\">", id);
}

static void end_description(struct text *svg, const char *id)
{
    text_addf(svg,
              "</desc>\n<defs><pattern id=\"%s-hatch\" width=\"5\" height=\"5\" "
              "patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">"
              "<line class=\"p-hatch\" x1=\"0\" y1=\"0\" x2=\"0\" y2=\"5\"/></pattern></defs>\n",
              id);
}

static void line(struct text *svg, const char *class, double x1, double y1, double x2, double y2)
{
    text_addf(svg, "<line class=\"%s\" x1=\"%.2f\" y1=\"%.2f\" x2=\"%.2f\" y2=\"%.2f\"/>\n", class,
              x1, y1, x2, y2);
}

static void box(struct text *svg, const char *class, double x, double y, double width,
                double height)
{
    text_addf(svg, "<rect class=\"%s\" x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" height=\"%.2f\"/>\n",
              class, x, y, fmax(width, 0), fmax(height, 0));
}

static void hatched(struct text *svg, const char *id, double x, double y, double width,
                    double height)
{
    text_addf(svg,
              "<rect class=\"p-band\" fill=\"url(#%s-hatch)\" x=\"%.2f\" y=\"%.2f\" "
              "width=\"%.2f\" height=\"%.2f\"/>\n",
              id, x, y, fmax(width, 0), fmax(height, 0));
}

static void begin_words(struct text *svg, const char *class, double x, double y)
{
    text_addf(svg, "<text class=\"%s\" x=\"%.2f\" y=\"%.2f\">", class, x, y);
}

static void end_words(struct text *svg)
{
    text_add(svg, "</text>\n");
}

static void words(struct text *svg, const char *class, double x, double y, const char *what)
{
    begin_words(svg, class, x, y);
    markup_add(svg, what);
    end_words(svg);
}

static void diamond(struct text *svg, const char *class, double x, double y, double size)
{
    text_addf(svg, "<path class=\"%s\" d=\"M%.2f %.2fL%.2f %.2fL%.2f %.2fL%.2f %.2fZ\"/>\n", class,
              x, y - size, x + size, y, x, y + size, x - size, y);
}

static void disc(struct text *svg, double x, double y)
{
    text_addf(svg, "<circle class=\"p-solid\" cx=\"%.2f\" cy=\"%.2f\" r=\"4.5\"/>\n", x, y);
}

static void lying_bar(struct text *svg, const struct picture_bar *bar, double y)
{
    if (!bar->there)
        return;
    line(svg, "p-bar", bar->low, y, bar->high, y);
    if (bar->low_ends)
        line(svg, "p-bar", bar->low, y - CAP, bar->low, y + CAP);
    if (bar->high_ends)
        line(svg, "p-bar", bar->high, y - CAP, bar->high, y + CAP);
}

static void standing_bar(struct text *svg, const struct picture_bar *bar, const char *class,
                         double x)
{
    if (!bar->there)
        return;
    line(svg, class, x, bar->low, x, bar->high);
    if (bar->low_ends)
        line(svg, "p-bar", x - CAP, bar->low, x + CAP, bar->low);
    if (bar->high_ends)
        line(svg, "p-bar", x - CAP, bar->high, x + CAP, bar->high);
}

/* "7.94 ± 0.12 mm" */
static void add_figure(struct text *svg, double mm, double U_mm)
{
    markup_addf(svg, "%.2f", mm);
    if (isfinite(U_mm))
        markup_addf(svg, " \u00b1 %.2f", U_mm);
    markup_add(svg, " mm");
}

/* ---- the throws ----------------------------------------------------------------------------- */

static const char *when(const struct picture_throw *row)
{
    return row->round == 0 ? "As found" : "Last measured";
}

static void add_rest(const struct picture_throw *row, struct text *svg)
{
    const char *side = words_side(row->offset_mm);
    if (side[0] == '\0')
        markup_add(svg, "rest in the middle, off by ");
    else
        markup_addf(svg, "%s by ", side);
    add_figure(svg, fabs(words_shown(row->offset_mm)), row->offset_U_mm);
    if (!isfinite(row->offset_U_mm))
        markup_add(svg, ", uncertainty not known");
}

static void describe_throws(const struct picture_throws *throws, struct text *svg)
{
    for (int i = 0; i < throws->rows; i++) {
        const struct picture_throw *row = &throws->row[i];
        markup_addf(svg, "%s: back ", when(row));
        add_figure(svg, row->back_mm, row->back_U_mm);
        markup_add(svg, ", forward ");
        add_figure(svg, row->forward_mm, row->forward_U_mm);
        markup_add(svg, "; ");
        add_rest(row, svg);
        markup_add(svg, ". ");
    }
    if (throws->tolerance_mm > 0)
        markup_addf(svg, "Even is a difference of the throws up to %.2f mm.", throws->tolerance_mm);
}

static void draw_throw(const struct picture_throws *throws, const struct picture_throw *row,
                       double top, struct text *svg)
{
    const double y = top + 54; /* where the arm swings */
    const double middle = picture_at(&throws->x, 0);
    begin_words(svg, "p-text p-strong", 4, top + 14);
    markup_addf(svg, "%s: ", when(row));
    add_rest(row, svg);
    end_words(svg);
    if (throws->has_even)
        hatched(svg, "throws", throws->even_low, y - 16, throws->even_high - throws->even_low, 32);
    line(svg, "p-dash", middle, y - 18, middle, y + 22);
    line(svg, "p-line", row->back, y, row->forward, y);
    line(svg, "p-thick", row->back, y - 14, row->back, y + 14);
    line(svg, "p-thick", row->forward, y - 14, row->forward, y + 14);
    lying_bar(svg, &row->back_bar, y + 8);
    lying_bar(svg, &row->forward_bar, y + 8);
    lying_bar(svg, &row->rest_bar, y - 11);
    diamond(svg, "p-solid", row->rest, y, 6);
    words(svg, "p-text p-mid", row->rest, y - 20, "rest");
    words(svg, "p-text p-mid", middle, y + 34, "middle");
    begin_words(svg, "p-text", 4, y + 34);
    markup_add(svg, "back ");
    add_figure(svg, row->back_mm, row->back_U_mm);
    end_words(svg);
    begin_words(svg, "p-text p-end", PICTURE_WIDTH - 4, y + 34);
    markup_add(svg, "forward ");
    add_figure(svg, row->forward_mm, row->forward_U_mm);
    end_words(svg);
}

static void draw_throws_legend(const struct picture_throws *throws, double top, struct text *svg)
{
    const double width = picture_at(&throws->x, throws->scale_mm) - picture_at(&throws->x, 0);
    const double x = PICTURE_WIDTH - 6 - width;
    line(svg, "p-bar", x, top + 12, x + width, top + 12);
    line(svg, "p-bar", x, top + 12 - CAP, x, top + 12 + CAP);
    line(svg, "p-bar", x + width, top + 12 - CAP, x + width, top + 12 + CAP);
    begin_words(svg, "p-text p-small p-end", x - 5, top + 16);
    markup_addf(svg, "to scale, %g mm", throws->scale_mm);
    end_words(svg);
    words(svg, "p-text p-small", 4, top + 34,
          "Upright lines: where the pawl meets the pins. Bars: uncertainty at 95 %.");
    if (!throws->has_even)
        return;
    hatched(svg, "throws", 4, top + 6, 22, 12);
    begin_words(svg, "p-text p-small", 31, top + 16);
    markup_addf(svg, "even: rest within %.2f mm of the middle", throws->tolerance_mm / 2);
    end_words(svg);
}

void picture_throws_draw(const struct picture_throws *throws, struct text *svg)
{
    double bottom = PICTURE_ROW_TOP + throws->rows * PICTURE_ROW_HEIGHT;
    begin(svg, "throws", (int)bottom + 42, "The throws of the arm, to scale");
    describe_throws(throws, svg);
    end_description(svg, "throws");
    for (int i = 0; i < throws->rows; i++)
        draw_throw(throws, &throws->row[i], PICTURE_ROW_TOP + i * PICTURE_ROW_HEIGHT, svg);
    draw_throws_legend(throws, bottom, svg);
    text_add(svg, "</svg>\n");
}

/* ---- the rounds ----------------------------------------------------------------------------- */

static void describe_rounds(const struct picture_rounds *rounds, struct text *svg)
{
    for (int i = 0; i < rounds->rounds; i++) {
        const struct picture_round *mark = &rounds->round[i];
        markup_addf(svg, "Round %d: ", i);
        if (mark->measured)
            markup_addf(svg, "offset %+.2f mm", words_shown(mark->offset_mm));
        else
            markup_add(svg, "not measured");
        if (mark->foretold)
            markup_addf(svg, ", foretold %+.2f mm", words_shown(mark->foretold_mm));
        markup_add(svg, ". ");
    }
}

static void draw_frame(const struct picture_rounds *rounds, struct text *svg)
{
    if (rounds->has_even)
        hatched(svg, "rounds", PICTURE_PLOT_LEFT, rounds->even_high,
                PICTURE_PLOT_RIGHT - PICTURE_PLOT_LEFT, rounds->even_low - rounds->even_high);
    words(svg, "p-text", 4, 14, "Offset in mm (above 0: rest too far back)");
    const int last = (int)floor(rounds->y.high / rounds->step_mm);
    for (int i = (int)ceil(rounds->y.low / rounds->step_mm); i <= last; i++) {
        double y = picture_at(&rounds->y, i * rounds->step_mm);
        line(svg, i == 0 ? "p-dash" : "p-soft", PICTURE_PLOT_LEFT, y, PICTURE_PLOT_RIGHT, y);
        begin_words(svg, "p-text p-end", PICTURE_PLOT_LEFT - 5, y + 4);
        markup_addf(svg, i == 0 ? "0" : "%+g", i * rounds->step_mm);
        end_words(svg);
    }
    box(svg, "p-frame", PICTURE_PLOT_LEFT, PICTURE_PLOT_TOP, PICTURE_PLOT_RIGHT - PICTURE_PLOT_LEFT,
        PICTURE_PLOT_BOTTOM - PICTURE_PLOT_TOP);
}

static void draw_round(const struct picture_rounds *rounds, int index, struct text *svg)
{
    const struct picture_round *mark = &rounds->round[index];
    if (mark->foretold) {
        standing_bar(svg, &mark->foretold_bar, "p-dots", mark->foretold_x);
        diamond(svg, "p-hollow", mark->foretold_x, mark->foretold_y, 5.5);
    }
    if (mark->measured) {
        standing_bar(svg, &mark->bar, "p-bar", mark->x);
        disc(svg, mark->x, mark->y);
    }
    begin_words(svg, "p-text p-mid", mark->x, PICTURE_PLOT_BOTTOM + 16);
    if (index == 0)
        markup_add(svg, "as found");
    else
        markup_addf(svg, "%d", index);
    end_words(svg);
}

static void draw_path(const struct picture_rounds *rounds, struct text *svg)
{
    int before = -1;
    for (int i = 0; i < rounds->rounds; i++) {
        if (!rounds->round[i].measured)
            continue;
        if (before >= 0)
            line(svg, "p-line", rounds->round[before].x, rounds->round[before].y,
                 rounds->round[i].x, rounds->round[i].y);
        before = i;
    }
}

static void draw_rounds_legend(const struct picture_rounds *rounds, struct text *svg)
{
    const double y = PICTURE_PLOT_BOTTOM + 34;
    disc(svg, 10, y - 4);
    words(svg, "p-text p-small", 19, y, "measured");
    diamond(svg, "p-hollow", 88, y - 4, 5.5);
    words(svg, "p-text p-small", 98, y, "foretold by the advice");
    if (rounds->has_even) {
        hatched(svg, "rounds", 240, y - 11, 22, 12);
        begin_words(svg, "p-text p-small", 267, y);
        markup_addf(svg, "even: within %.2f mm of 0", rounds->tolerance_mm / 2);
        end_words(svg);
    }
    words(svg, "p-text p-small", 4, y + 17,
          rounds->some_go_on ? "Bars: 95 %; one without an end goes on beyond the picture."
                             : "Bars: uncertainty at 95 %.");
    words(svg, "p-text p-end", PICTURE_PLOT_RIGHT, y + 17, "round of adjusting");
}

void picture_rounds_draw(const struct picture_rounds *rounds, struct text *svg)
{
    begin(svg, "rounds", PICTURE_PLOT_BOTTOM + 60, "Offset from round to round");
    describe_rounds(rounds, svg);
    end_description(svg, "rounds");
    draw_frame(rounds, svg);
    draw_path(rounds, svg);
    for (int i = 0; i < rounds->rounds; i++)
        draw_round(rounds, i, svg);
    draw_rounds_legend(rounds, svg);
    text_add(svg, "</svg>\n");
}

/* ---- the causes ----------------------------------------------------------------------------- */

static void describe_causes(const struct picture_causes *causes, struct text *svg)
{
    for (int i = 0; i < REASON_CAUSE_COUNT; i++) {
        const struct picture_cause *cause = &causes->cause[i];
        char before[24];
        char after[24];
        markup_addf(svg, "%s: before %s, after %s. ", reason_cause_name(cause->cause),
                    words_percent(cause->before, before), words_percent(cause->after, after));
    }
}

static void draw_cause(const struct picture_causes *causes, const struct picture_cause *cause,
                       struct text *svg)
{
    char before[16];
    char after[16];
    words(svg, cause->confirmed ? "p-text p-end p-strong" : "p-text p-end", causes->left - 6,
          cause->y + 14, reason_cause_name(cause->cause));
    hatched(svg, "causes", causes->left, cause->y + 2, cause->before_width, 7);
    box(svg, "p-solid", causes->left, cause->y + 11, cause->after_width, 7);
    begin_words(svg, cause->confirmed ? "p-text p-end p-strong" : "p-text p-end", PICTURE_WIDTH - 4,
                cause->y + 14);
    markup_addf(svg, "%s \u2192 %s", words_share(cause->before, before),
                words_share(cause->after, after));
    end_words(svg);
}

void picture_causes_draw(const struct picture_causes *causes, struct text *svg)
{
    const double bottom = PICTURE_CAUSES_TOP + REASON_CAUSE_COUNT * PICTURE_CAUSE_HEIGHT;
    bool confirmed = false;
    begin(svg, "causes", (int)bottom + 24, "The causes, before and after the evidence");
    describe_causes(causes, svg);
    end_description(svg, "causes");
    hatched(svg, "causes", causes->left, 5, 22, 8);
    words(svg, "p-text p-small", causes->left + 27, 13, "before");
    box(svg, "p-solid", causes->left + 76, 5, 22, 8);
    words(svg, "p-text p-small", causes->left + 103, 13, "after");
    words(svg, "p-text p-small p-end", PICTURE_WIDTH - 4, 13, "percent");
    line(svg, "p-soft", causes->left, PICTURE_CAUSES_TOP - 4, causes->left, bottom);
    for (int i = 0; i < REASON_CAUSE_COUNT; i++) {
        draw_cause(causes, &causes->cause[i], svg);
        confirmed |= causes->cause[i].confirmed;
    }
    words(svg, "p-text p-small", 4, bottom + 16,
          confirmed ? "Judgement, not measurement. In bold: the cause that was confirmed."
                    : "Judgement, not measurement. No cause was confirmed.");
    text_add(svg, "</svg>\n");
}
