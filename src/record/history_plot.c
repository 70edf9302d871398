/* Plots of the past: see history_plot.h. Coordinates are in user units of the viewBox. */
#include "record/history_plot.h"

#include <math.h>
#include <string.h>

#include "record/markup.h"
#include "record/transcript.h"

/* ---- text ---------------------------------------------------------------------------------- */

static int place(double share, int width)
{
    double at = floor(share * width + 0.5);
    return at < 0 || isnan(at) ? 0 : at > width ? width : (int)at;
}

void history_bar(const struct history_rate *rate, double full, char out[HISTORY_BAR + 1])
{
    int solid = place(full > 0 ? rate->rate / full : 0, HISTORY_BAR);
    int dashed = place(full > 0 ? rate->high / full : 0, HISTORY_BAR);
    for (int i = 0; i < HISTORY_BAR; i++)
        out[i] = i < solid ? '#' : i < dashed ? '-' : ' ';
    out[HISTORY_BAR] = '\0';
}

void history_offset_bar(const struct journal_job *job, double full_mm, char out[HISTORY_BAR + 2])
{
    memset(out, ' ', HISTORY_BAR + 1);
    out[HISTORY_BAR + 1] = '\0';
    out[HISTORY_BAR / 2] = '|';
    if (!job->measured)
        return;
    double full = full_mm > 0 ? full_mm : 1;
    out[place(0.5 + job->found_mm / full / 2, HISTORY_BAR)] = 'o';
    out[place(0.5 + job->left_mm / full / 2, HISTORY_BAR)] = '*';
}

int history_causes(const struct history_shop *shop, int order[REASON_CAUSE_COUNT])
{
    int n = 0;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
        if (shop->cause[c].hits == 0)
            continue;
        int at = n++;
        for (; at > 0 && shop->cause[order[at - 1]].hits < shop->cause[c].hits; at--)
            order[at] = order[at - 1];
        order[at] = c;
    }
    return n;
}

/* ---- SVG ----------------------------------------------------------------------------------- */

static void print_text(const char *words, FILE *out)
{
    char safe[MARKUP_TEXT];
    struct text text = text_into(safe, sizeof safe);
    markup_add(&text, words);
    fputs(safe, out);
}

static void begin_svg(double width, double height, FILE *out)
{
    fprintf(out,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %g %g\" role=\"img\" "
            "font-family=\"sans-serif\" font-size=\"13\">\n"
            "<style>svg{color:#111;background:#fff}"
            "@media (prefers-color-scheme:dark){svg{color:#eee;background:#111}}"
            "text{fill:currentColor}.bar{fill:currentColor;fill-opacity:.35;stroke:currentColor}"
            ".line{stroke:currentColor;fill:none}.dot{fill:currentColor;stroke:currentColor}"
            "</style>\n",
            width, height);
}

enum { SHOP_LEFT = 270, SHOP_WIDTH = 300, SHOP_TOP = 56, SHOP_ROW = 26, SHOP_TOTAL = 720 };

static double shop_x(double share, double full)
{
    return SHOP_LEFT + SHOP_WIDTH * share / full;
}

static void shop_row(const struct history_rate *rate, const char *name, double full, int row,
                     FILE *out)
{
    double y = SHOP_TOP + SHOP_ROW * row;
    double low = shop_x(rate->low, full);
    double high = shop_x(rate->high, full);
    fprintf(out, "<text x=\"%d\" y=\"%.1f\" text-anchor=\"end\">", SHOP_LEFT - 10, y + 13);
    print_text(name, out);
    fprintf(
        out,
        "</text>\n<rect class=\"bar\" x=\"%d\" y=\"%.1f\" width=\"%.2f\" height=\"16\"/>\n"
        "<path class=\"line\" stroke-width=\"2\" d=\"M%.2f %.1fH%.2fM%.2f %.1fv8M%.2f %.1fv8\"/>"
        "\n<text x=\"%d\" y=\"%.1f\">%.1f %% (%lld)</text>\n",
        SHOP_LEFT, y, shop_x(rate->rate, full) - SHOP_LEFT, low, y + 8, high, low, y + 4, high,
        y + 4, SHOP_LEFT + SHOP_WIDTH + 12, y + 13, 100 * rate->rate, (long long)rate->hits);
}

void history_shop_svg(const struct history_shop *shop, FILE *out)
{
    int order[REASON_CAUSE_COUNT];
    int n = history_causes(shop, order);
    double full = 0.05;
    for (int i = 0; i < n; i++)
        full = fmax(full, shop->cause[order[i]].high);
    begin_svg(SHOP_TOTAL, SHOP_TOP + SHOP_ROW * (n > 0 ? n : 1) + 30, out);
    fprintf(out,
            "<title>Cures by cause</title>\n<text x=\"20\" y=\"24\" font-size=\"16\">Cures by "
            "cause</text>\n<text x=\"20\" y=\"42\">Fixed with a confirmed cause: %lld; 95 %% "
            "intervals (Wilson)</text>\n",
            (long long)shop->cause[0].all);
    for (int i = 0; i < n; i++)
        shop_row(&shop->cause[order[i]], reason_cause_name((enum reason_cause)order[i]), full, i,
                 out);
    if (n == 0)
        fprintf(out, "<text x=\"20\" y=\"%d\">None yet.</text>\n", SHOP_TOP + 13);
    fputs("</svg>\n", out);
}

enum {
    BIKE_LEFT = 90,
    BIKE_WIDTH = 600,
    BIKE_MIDDLE = 160,
    BIKE_HALF = 90,
    BIKE_TOTAL = 720,
    LABELS = 8
};

static double bike_y(double mm, double full_mm)
{
    return BIKE_MIDDLE - BIKE_HALF * mm / full_mm;
}

static void bike_visit(const struct journal_job *job, double x, double full_mm, bool labelled,
                       FILE *out)
{
    char at[32];
    transcript_time(job->opened_ms, at);
    at[10] = '\0'; /* the day */
    double found = bike_y(job->found_mm, full_mm);
    double left = bike_y(job->left_mm, full_mm);
    fprintf(out,
            "<path class=\"line\" d=\"M%.2f %.2fV%.2f\"/>\n"
            "<circle class=\"line\" cx=\"%.2f\" cy=\"%.2f\" r=\"6\"/>\n"
            "<circle class=\"dot\" cx=\"%.2f\" cy=\"%.2f\" r=\"3\"/>\n",
            x, found, left, x, found, x, left);
    if (labelled)
        fprintf(out,
                "<text x=\"%.2f\" y=\"%d\" text-anchor=\"middle\" font-size=\"11\">%s</text>\n", x,
                BIKE_MIDDLE + BIKE_HALF + 26, at);
    if (labelled && job->odometer >= 0)
        fprintf(out,
                "<text x=\"%.2f\" y=\"%d\" text-anchor=\"middle\" font-size=\"11\">%lld</text>\n",
                x, BIKE_MIDDLE + BIKE_HALF + 40, (long long)job->odometer);
}

void history_bike_svg(const char *bike, const struct journal_job job[], size_t jobs, FILE *out)
{
    double full_mm = 0.5;
    size_t measured = 0;
    for (size_t i = 0; i < jobs; i++)
        if (job[i].measured) {
            full_mm = fmax(full_mm, fmax(fabs(job[i].found_mm), fabs(job[i].left_mm)));
            measured++;
        }
    begin_svg(BIKE_TOTAL, BIKE_MIDDLE + BIKE_HALF + 60, out);
    fputs("<title>Offset at each visit</title>\n<text x=\"20\" y=\"24\" font-size=\"16\">", out);
    print_text(bike, out);
    fprintf(out,
            "</text>\n<text x=\"20\" y=\"42\">Offset of rest at each visit: ring as found, dot as "
            "left; above the line too far back</text>\n"
            "<path class=\"line\" stroke-dasharray=\"4 3\" d=\"M%d %dH%d\"/>\n",
            BIKE_LEFT, BIKE_MIDDLE, BIKE_LEFT + BIKE_WIDTH);
    static const double ticks[] = {1, 0, -1};
    for (size_t i = 0; i < sizeof ticks / sizeof ticks[0]; i++)
        fprintf(out, "<text x=\"%d\" y=\"%.1f\" text-anchor=\"end\">%+.2f mm</text>\n",
                BIKE_LEFT - 6, bike_y(ticks[i] * full_mm, full_mm) + 4, ticks[i] * full_mm);
    size_t every = measured / LABELS + 1; /* more labels would run into one another */
    size_t shown = 0;
    for (size_t i = 0; i < jobs; i++)
        if (job[i].measured) {
            double x = BIKE_LEFT + BIKE_WIDTH * ((double)shown + 0.5) / (double)measured;
            bike_visit(&job[i], x, full_mm, shown % every == 0, out);
            shown++;
        }
    fputs("</svg>\n", out);
}
