/*
 * The page's pictures, as SVG 1.1 to stand inside HTML. Each is made in two steps: where everything
 * goes, worked out from the job's numbers alone and tested against them; then the drawing, which
 * only puts marks at those places.
 *
 *     struct picture_throws throws;
 *     if (picture_throws_of(job, &throws))
 *         picture_throws_draw(&throws, &text);
 *
 * Coordinates are SVG's: x to the right, y down, in units of the viewBox, PICTURE_WIDTH wide. No
 * meaning is in colour alone: shapes, hatching and words tell everything in black and white. The
 * classes (p-line, p-soft, p-text ...) are styled by the page, for light, dark and print.
 */
#ifndef MIDTHROW_RECORD_PICTURE_H
#define MIDTHROW_RECORD_PICTURE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"
#include "job/job.h"

enum { PICTURE_WIDTH = 480 };

/* ---- axes ----------------------------------------------------------------------------------- */

/* A straight axis: the value `low` stands at the coordinate `low_at`, `high` at `high_at`. */
struct picture_axis {
    double low, high;
    double low_at, high_at;
};
double picture_at(const struct picture_axis *axis, double value);

/* The smallest of 1, 2 and 5 times a power of ten that divides the span into at most `most` steps;
 * 1 for a span that is none. */
double picture_step(double span, int most);

/* A bar of uncertainty: `low` and `high` are its ends. Where one lies beyond the picture the bar
 * goes to the edge and has no end there. */
struct picture_bar {
    bool there;
    double low, high;
    bool low_ends, high_ends;
};

/* ---- the throws ----------------------------------------------------------------------------- */

/* One measurement: where the pawl meets the pins at either side and where the arm rests, to scale,
 * measured from the middle between the pins. Bars are expanded uncertainties at 95 % (JCGM 100);
 * there are none when the repeatability is not known. */
struct picture_throw {
    int round;
    double back, rest, forward; /* x */
    struct picture_bar back_bar, rest_bar, forward_bar;
    double back_mm, forward_mm, offset_mm;
    double back_U_mm, forward_U_mm, offset_U_mm; /* HUGE_VAL: not known */
};

struct picture_throws {
    struct picture_axis x; /* millimetres from the middle, forward to the right */
    bool has_even;
    double even_low, even_high;  /* x: rest between these is even */
    double tolerance_mm;         /* of the difference of the throws */
    double scale_mm;             /* length of the scale bar */
    struct picture_throw row[2]; /* as found, last measured */
    int rows;
};

/* False when no measurement was finished. */
bool picture_throws_of(const struct job *job, struct picture_throws *out);
void picture_throws_draw(const struct picture_throws *throws, struct text *svg);

/* ---- the rounds ----------------------------------------------------------------------------- */

/* What was measured in a round, and what the advice before it had foretold. */
struct picture_round {
    int round;
    double x;
    bool measured;
    double offset_mm, y;
    struct picture_bar bar; /* expanded uncertainty at 95 % */
    bool foretold;
    double foretold_mm, foretold_x, foretold_y;
    struct picture_bar foretold_bar; /* two standard uncertainties */
};

struct picture_rounds {
    struct picture_axis y; /* offset in millimetres, upwards */
    double step_mm;        /* between the ticks */
    double zero;           /* y of offset 0 */
    bool has_even;
    double even_low, even_high; /* y: an offset between these is even; low is the lower one drawn */
    double tolerance_mm;
    struct picture_round round[JOB_ROUNDS_MAX + 1]; /* and what is foretold of the one to come */
    int rounds;
    bool some_go_on; /* a bar goes on beyond the picture */
};

/* False when the stem was never turned. */
bool picture_rounds_of(const struct job *job, struct picture_rounds *out);
void picture_rounds_draw(const struct picture_rounds *rounds, struct text *svg);

/* ---- the causes ----------------------------------------------------------------------------- */

struct picture_cause {
    enum reason_cause cause;
    bool confirmed;
    double before, after;             /* probability */
    double before_width, after_width; /* of the bars */
    double y;                         /* top of the row */
};

/* Likeliest first, by what was seen. "Before" is what was believed with nothing seen. */
struct picture_causes {
    double left; /* x where the bars begin */
    struct picture_cause cause[REASON_CAUSE_COUNT];
};

void picture_causes_of(const struct job *job, struct picture_causes *out);
void picture_causes_draw(const struct picture_causes *causes, struct text *svg);

#endif
