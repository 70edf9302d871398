/* From readings of both throws to a verdict: see balance.h for what is computed and why. */
#include "measure/balance.h"

#include <math.h>

#include <gsl/gsl_cdf.h>

#include "measure/uncertainty.h"

static const double hand_scatter_mm = 0.25; /* the most, one sigma: judgement, no source */
static const double wolf_share = 0.001;     /* of steady hands suspected all the same */
static const double scatter_dof_least = 3;

enum { MORE_READINGS_MAX = 10 }; /* nobody reads a throw oftener than that to settle a verdict */

/* The scatter of a single reading, and how well it is known. */
struct scatter {
    double variance;
    double dof; /* 0: not at all */
};

static double rounding_u(double resolution_mm)
{
    return resolution_mm / sqrt(12); /* rectangular, JCGM 100, F.2.2.1 */
}

static bool length_is_sane(double mm)
{
    return mm >= 0 && mm <= MEASURE_MM_MAX; /* false for NaN */
}

static bool readings_are_sane(const double *mm, size_t n, const char *what, struct fault *fault)
{
    if (mm == NULL || n == 0)
        return fault_set(fault, FAULT_USAGE, "no reading of the %s: read it at least twice.", what);
    if (n > MEASURE_READINGS_MAX)
        return fault_set(fault, FAULT_USAGE,
                         "%zu readings of the %s are too many: give at most %d.", n, what,
                         MEASURE_READINGS_MAX);
    for (size_t i = 0; i < n; i++) {
        if (!length_is_sane(mm[i]))
            return fault_set(fault, FAULT_USAGE,
                             "reading %zu of the %s cannot be a distance: measure it again.", i + 1,
                             what);
    }
    return true;
}

static bool scatter_is_sane(double resolution_mm, double pooled_s_mm, double pooled_dof,
                            struct fault *fault)
{
    if (!length_is_sane(resolution_mm))
        return fault_set(fault, FAULT_USAGE,
                         "the resolution cannot be that: give the finest division that can be "
                         "read, as in 1/64in.");
    bool none = pooled_dof <= 0 && pooled_dof >= 0;
    if (!none && (!(pooled_dof >= 1) || !length_is_sane(pooled_s_mm)))
        return fault_set(fault, FAULT_USAGE,
                         "the repeatability from earlier rounds makes no sense: leave it out.");
    return true;
}

/* Pooled variance: each weighted by its degrees of freedom (JCGM 100, H.3.6 note). */
static struct scatter pooled_with(struct scatter known, double s, double dof)
{
    if (!(dof > 0))
        return known;
    if (isinf(known.dof))
        return known;
    if (isinf(dof))
        return (struct scatter){s * s, dof};
    double total = known.dof + dof;
    return (struct scatter){(known.variance * known.dof + s * s * dof) / total, total};
}

static struct scatter scatter_of(const struct measure_sample *sample, struct scatter known)
{
    return pooled_with(known, sample->s, (double)sample->n - 1);
}

/* Never below what the scale can show, see balance.h. */
static double scatter_used(struct scatter scatter, double resolution_mm)
{
    return fmax(sqrt(scatter.variance), rounding_u(resolution_mm));
}

static struct measure_estimate estimate(const struct measure_sample *sample, struct scatter scatter,
                                        double resolution_mm)
{
    struct measure_estimate out = {
        .n = sample->n,
        .mean_mm = sample->mean,
        .s_mm = sample->s,
        .u_b_mm = rounding_u(resolution_mm),
    };
    out.u_mm = out.u_b_mm;
    out.k = out.U_mm = HUGE_VAL;
    if (!(scatter.dof > 0))
        return out; /* repeatability unknown: no interval can be given */
    out.u_a_mm = scatter_used(scatter, resolution_mm) / sqrt((double)sample->n);
    const struct measure_component parts[] = {{out.u_a_mm, scatter.dof}, {out.u_b_mm, HUGE_VAL}};
    out.u_mm = measure_combined(parts, 2);
    out.dof = measure_effective_dof(parts, 2);
    out.k = measure_coverage_factor(MEASURE_LEVEL, out.dof);
    out.U_mm = out.k * out.u_mm;
    return out;
}

bool measure_estimate_of(const double *readings_mm, size_t n, double resolution_mm,
                         double pooled_s_mm, double pooled_dof, struct measure_estimate *out,
                         struct fault *fault)
{
    if (!readings_are_sane(readings_mm, n, "throw", fault) ||
        !scatter_is_sane(resolution_mm, pooled_s_mm, pooled_dof, fault))
        return false;
    struct measure_sample sample = measure_sample_of(readings_mm, n);
    struct scatter known = pooled_with((struct scatter){0, 0}, pooled_s_mm, pooled_dof);
    *out = estimate(&sample, scatter_of(&sample, known), resolution_mm);
    return true;
}

/* What difference and sum of two means share: their standard uncertainty and its degrees of
 * freedom. One pooled scatter serves both means, so it is one component. */
static struct measure_component of_both(struct scatter scatter, double resolution_mm, size_t n_f,
                                        size_t n_b)
{
    double u_b = rounding_u(resolution_mm) * sqrt(2);
    if (!(scatter.dof > 0))
        return (struct measure_component){u_b, 0};
    double u_a = scatter_used(scatter, resolution_mm) * sqrt(1 / (double)n_f + 1 / (double)n_b);
    const struct measure_component parts[] = {{u_a, scatter.dof}, {u_b, HUGE_VAL}};
    return (struct measure_component){measure_combined(parts, 2), measure_effective_dof(parts, 2)};
}

static double probability_even(double difference_mm, struct measure_component of,
                               double tolerance_mm)
{
    return measure_probability_within(difference_mm, of.u, of.dof, -tolerance_mm, tolerance_mm);
}

static enum measure_verdict verdict_at(double probability)
{
    if (probability >= MEASURE_LEVEL)
        return MEASURE_EVEN;
    return probability <= 1 - MEASURE_LEVEL ? MEASURE_UNEVEN : MEASURE_CANNOT_TELL;
}

/* The smallest number of further readings of each throw that would settle the verdict if the means
 * and the scatter stayed as they are; -1 for none that is reasonable. */
static int readings_needed(const struct measure_balance_input *input, double difference_mm,
                           struct scatter scatter)
{
    size_t most = input->forward_n > input->back_n ? input->forward_n : input->back_n;
    for (size_t more = 1; more <= MORE_READINGS_MAX && most + more <= MEASURE_READINGS_MAX;
         more++) {
        size_t n_f = input->forward_n + more, n_b = input->back_n + more;
        struct scatter then = {scatter.variance, scatter.dof + 2 * (double)more};
        struct measure_component both = of_both(then, input->resolution_mm, n_f, n_b);
        double probability = probability_even(difference_mm, both, input->tolerance_mm);
        if (verdict_at(probability) != MEASURE_CANNOT_TELL)
            return (int)more;
    }
    return -1;
}

static bool input_is_sane(const struct measure_balance_input *input, struct fault *fault)
{
    if (!readings_are_sane(input->forward_mm, input->forward_n, "forward throw", fault) ||
        !readings_are_sane(input->back_mm, input->back_n, "back throw", fault) ||
        !scatter_is_sane(input->resolution_mm, input->pooled_s_mm, input->pooled_dof, fault))
        return false;
    if (!(input->tolerance_mm > 0) || !length_is_sane(input->tolerance_mm))
        return fault_set(fault, FAULT_USAGE,
                         "the tolerance must be more than zero: give the largest difference that "
                         "counts as even, as in 1/32in.");
    return true;
}

static void fill_verdict(const struct measure_balance_input *input, struct scatter scatter,
                         struct measure_balance *out)
{
    const struct measure_component both = {out->difference_u_mm, out->difference_dof};
    out->probability_even = probability_even(out->difference_mm, both, input->tolerance_mm);
    bool read_once = input->forward_n == 1 || input->back_n == 1;
    out->verdict = read_once && !(input->pooled_dof > 0) ? MEASURE_CANNOT_TELL
                                                         : verdict_at(out->probability_even);
    out->readings_needed = out->verdict == MEASURE_CANNOT_TELL
                               ? readings_needed(input, out->difference_mm, scatter)
                               : 0;
}

bool measure_balance_of(const struct measure_balance_input *input, struct measure_balance *out,
                        struct fault *fault)
{
    if (!input_is_sane(input, fault))
        return false;
    struct measure_sample forward = measure_sample_of(input->forward_mm, input->forward_n);
    struct measure_sample back = measure_sample_of(input->back_mm, input->back_n);
    double sum = forward.mean + back.mean;
    if (!(sum > 0))
        return fault_set(fault, FAULT_USAGE,
                         "both throws are zero: the arm does not move, so there is nothing to "
                         "balance; free it and measure again.");
    struct scatter known =
        pooled_with((struct scatter){0, 0}, input->pooled_s_mm, input->pooled_dof);
    struct scatter scatter = scatter_of(&back, scatter_of(&forward, known));
    struct measure_component both =
        of_both(scatter, input->resolution_mm, input->forward_n, input->back_n);
    *out = (struct measure_balance){
        .forward = estimate(&forward, scatter, input->resolution_mm),
        .back = estimate(&back, scatter, input->resolution_mm),
        .difference_mm = forward.mean - back.mean,
        .difference_u_mm = both.u,
        .difference_dof = both.dof,
        .offset_mm = (forward.mean - back.mean) / 2,
        .offset_u_mm = both.u / 2,
        .sum_mm = sum,
        .sum_u_mm = both.u,
        .sum_dof = both.dof,
        .forward_percent = 100 * (forward.mean / sum),
    };
    out->back_percent = 100 - out->forward_percent;
    fill_verdict(input, scatter, out);
    return true;
}

bool measure_sum_suspect(const struct measure_balance *before, const struct measure_balance *now)
{
    const struct measure_component parts[] = {{before->sum_u_mm, before->sum_dof},
                                              {now->sum_u_mm, now->sum_dof}};
    if (!(before->sum_dof > 0) || !(now->sum_dof > 0))
        return false;
    double k = measure_coverage_factor(MEASURE_LEVEL, measure_effective_dof(parts, 2));
    return fabs(now->sum_mm - before->sum_mm) > k * measure_combined(parts, 2);
}

bool measure_scatter_suspect(double s_mm, double dof, double resolution_mm)
{
    if (!length_is_sane(s_mm) || !length_is_sane(resolution_mm) || !(dof >= scatter_dof_least))
        return false;
    double most = hypot(hand_scatter_mm, rounding_u(resolution_mm));
    double ratio = s_mm * s_mm / (most * most);
    if (isinf(dof))
        return ratio > 1;
    /* (n - 1) s^2/sigma^2 is chi-square distributed: JCGM 100, 4.2.2 and E.4.3 lead to it. */
    return gsl_cdf_chisq_Q(dof * ratio, dof) < wolf_share;
}

void measure_balance_pool(const struct measure_balance *round, double *pooled_s_mm,
                          double *pooled_dof)
{
    struct scatter known = pooled_with((struct scatter){0, 0}, *pooled_s_mm, *pooled_dof);
    known = pooled_with(known, round->forward.s_mm, (double)round->forward.n - 1);
    known = pooled_with(known, round->back.s_mm, (double)round->back.n - 1);
    *pooled_s_mm = sqrt(known.variance);
    *pooled_dof = known.dof;
}

const char *measure_verdict_name(enum measure_verdict verdict)
{
    switch (verdict) {
    case MEASURE_EVEN:
        return "even";
    case MEASURE_UNEVEN:
        return "uneven";
    case MEASURE_CANNOT_TELL:
        break;
    }
    return "cannot tell";
}
