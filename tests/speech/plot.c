/* The picture: see plot.h. Colours: Okabe and Ito (2008), which the colour-blind can tell apart. */
#include "plot.h"

#include "../measure/share.h"

enum { LEFT = 60, TOP = 60, WIDE = 420, HIGH = 300, GAP = 40 };

static double x_of(size_t level)
{
    return LEFT + (double)WIDE * ((double)level + 0.5) / TALLY_LEVELS;
}

static double y_of(double share)
{
    return TOP + HIGH * (1 - share);
}

static void frame(FILE *file, double left, const char *title)
{
    fprintf(file,
            "<g transform=\"translate(%g 0)\">\n<text x=\"%d\" y=\"%d\" class=\"t\">%s</text>\n",
            left, LEFT, TOP - 14, title);
    for (int percent = 0; percent <= 100; percent += 20)
        fprintf(file,
                "<line x1=\"%d\" x2=\"%d\" y1=\"%g\" y2=\"%g\" class=\"g\"/>"
                "<text x=\"%d\" y=\"%g\" text-anchor=\"end\">%d %%</text>\n",
                LEFT, LEFT + WIDE, y_of(percent / 100.0), y_of(percent / 100.0), LEFT - 8,
                y_of(percent / 100.0) + 4, percent);
    for (size_t l = 0; l < TALLY_LEVELS; l++) {
        fprintf(file, "<text x=\"%g\" y=\"%d\" text-anchor=\"middle\">", x_of(l), TOP + HIGH + 20);
        if (tally_levels[l] == ROWS_QUIET_DB)
            fputs("quiet</text>\n", file);
        else
            fprintf(file, "%d dB</text>\n", tally_levels[l]);
    }
}

/* One share at every level: points joined, each with its interval; `dx` keeps bars apart. */
static void line(FILE *file, const char *colour, const char *name, double dx, const int part[],
                 const int whole[])
{
    double last_x = 0, last_y = 0;
    for (size_t l = 0; l < TALLY_LEVELS; l++) {
        if (whole[l] == 0)
            continue;
        struct share s = share_of(part[l], whole[l]);
        double x = x_of(l) + dx, y = y_of(s.value);
        fprintf(file,
                "<line x1=\"%g\" x2=\"%g\" y1=\"%g\" y2=\"%g\" stroke=\"%s\"/>"
                "<circle cx=\"%g\" cy=\"%g\" r=\"4\" fill=\"%s\"><title>%s: %d of %d</title>"
                "</circle>\n",
                x, x, y_of(s.low), y_of(s.high), colour, x, y, colour, name, part[l], whole[l]);
        if (last_x > 0)
            fprintf(file,
                    "<line x1=\"%g\" y1=\"%g\" x2=\"%g\" y2=\"%g\" stroke=\"%s\" "
                    "stroke-width=\"2\"/>\n",
                    last_x, last_y, x, y, colour);
        last_x = x;
        last_y = y;
    }
}

static void legend(FILE *file, int row, const char *colour, const char *name)
{
    fprintf(file,
            "<circle cx=\"%d\" cy=\"%d\" r=\"4\" fill=\"%s\"/><text x=\"%d\" y=\"%d\">%s</text>\n",
            LEFT + 150 * row + 4, TOP + HIGH + 44, colour, LEFT + 150 * row + 14, TOP + HIGH + 48,
            name);
}

void plot_write(FILE *file, const struct tallies *way)
{
    static const char *const right = "#009e73", *const asked = "#e69f00", *const wrong = "#d55e00";
    int said[TALLY_LEVELS], at[5][TALLY_LEVELS], stock_said[TALLY_LEVELS];
    for (size_t l = 0; l < TALLY_LEVELS; l++) {
        const struct tally *t = &way->at[0][l];
        said[l] = t->said;
        stock_said[l] = t->stock_said;
        at[0][l] = t->right;
        at[1][l] = t->offered + t->asked;
        at[2][l] = t->wrong;
        at[3][l] = t->stock_right;
        at[4][l] = t->stock_wrong;
    }
    fprintf(file,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %d %d\" "
            "font-family=\"sans-serif\" "
            "font-size=\"13\">\n<title>What was heard of what was said, against the noise</title>\n"
            "<style>.t{font-size:16px}.g{stroke:#ccc}</style>\n"
            "<rect width=\"100%%\" height=\"100%%\" fill=\"#fff\"/>\n",
            2 * (LEFT + WIDE) + GAP, TOP + HIGH + 64);
    frame(file, 0, "midthrow");
    line(file, right, "right at once", -8, at[0], said);
    line(file, asked, "asked", 0, at[1], said);
    line(file, wrong, "wrong, believed", 8, at[2], said);
    legend(file, 0, right, "right at once");
    legend(file, 1, asked, "asked about");
    legend(file, 2, wrong, "wrong, believed");
    fputs("</g>\n", file);
    frame(file, LEFT + WIDE + GAP / 2.0, "stock PocketSphinx, same sound");
    line(file, right, "right", -4, at[3], stock_said);
    line(file, wrong, "wrong, believed", 4, at[4], stock_said);
    fputs("</g>\n</svg>\n", file);
}
