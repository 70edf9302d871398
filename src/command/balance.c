/*
 * midthrow balance: are the two throws equal? The same answers as at the lift, at the desk.
 *
 * --json prints one object:
 *   forward, back        n, readings (as given), mean_mm, mean_in, s_mm, u_a_mm, u_b_mm, u_mm, dof,
 * k, U_mm, U_in; dof is null for infinite and 0 when the repeatability is unknown, k and U are then
 * null difference_mm, difference_u_mm, difference_dof       forward - back offset_mm, offset_in,
 * offset_u_mm, offset_U_mm, offset_U_in   half of it; positive: rest too far back sum_mm, sum_u_mm,
 * forward_percent, back_percent, probability_even verdict              "even", "uneven", "cannot
 * tell" readings_needed      of each throw; 0 when settled, -1: read with a finer instrument
 *   tolerance, resolution   value (as given), mm, source ("given" or "common practice, no source")
 * Every quantity is explained in measure/balance.h.
 */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include <jansson.h>

#include "base/text.h"
#include "command/command.h"
#include "measure/balance.h"
#include "measure/length.h"
#include "measure/uncertainty.h"

static const char usage[] =
    "usage: midthrow balance --forward V [V ...] --back V [V ...]\n"
    "                        [--tolerance V] [--resolution V] [--json]\n"
    "\n"
    "Are the two throws equal? Gives mean and expanded uncertainty (95 %) of each throw, the\n"
    "offset of rest, the split, the probability that the throws are even, and the verdict.\n"
    "\n"
    "  --forward V ...   readings of the forward throw, at least two\n"
    "  --back V ...      readings of the back throw, at least two\n"
    "  --tolerance V     largest difference that counts as even; 1/32in if not given\n"
    "  --resolution V    finest division that can be read; 1/64in if not given\n"
    "                    (both: common practice, no source; the service manual wins)\n"
    "  --json            print one JSON object\n"
    "\n"
    "V is like 5/16in, 1-5/16in, 0.31in, 310thou or 7.9mm. Several follow one another or are\n"
    "joined by commas; an option may be repeated.\n"
    "\n"
    "  midthrow balance --forward 5/16in 5/16in --back 9/32in,17/64in\n";

static const double LONGEST_MM = 152.4; /* six inches: nothing at this linkage moves farther */

enum { MM_PLACES_MAX = 6, SHOWN = 48 };

struct readings {
    struct measure_length length[MEASURE_READINGS_MAX];
    size_t n;
};

struct request {
    struct readings forward, back, tolerance, resolution;
    bool json, help;
};

/* ---- reading the command line ------------------------------------------------------------ */

/* The options that take values, how many, and what to write when one is missing. */
static const struct option {
    const char *name;
    size_t offset; /* of its readings in struct request */
    size_t most;
    const char *example;
} options[] = {
    {"--forward", offsetof(struct request, forward), MEASURE_READINGS_MAX, "5/16in 5/16in"},
    {"--back", offsetof(struct request, back), MEASURE_READINGS_MAX, "9/32in 17/64in"},
    {"--tolerance", offsetof(struct request, tolerance), 1, "1/32in"},
    {"--resolution", offsetof(struct request, resolution), 1, "1/64in"},
};

static struct readings *readings_of(struct request *request, const struct option *option)
{
    return (struct readings *)(void *)((char *)request + option->offset);
}

/* An argument fit for a sentence: cut short, nothing but printable ASCII. */
static const char *shown(const char *argument, char out[SHOWN])
{
    size_t n = 0;
    for (; n < SHOWN - 1 && argument[n] != '\0'; n++)
        out[n] = argument[n] >= ' ' && argument[n] <= '~' ? argument[n] : '?';
    out[n] = '\0';
    return out;
}

static const struct option *find_option(const char *argument, size_t length)
{
    for (size_t i = 0; i < sizeof options / sizeof options[0]; i++)
        if (strlen(options[i].name) == length && strncmp(options[i].name, argument, length) == 0)
            return &options[i];
    return NULL;
}

static bool add_one(struct request *request, const struct option *option, const char *value,
                    struct fault *fault)
{
    struct readings *readings = readings_of(request, option);
    if (readings->n == option->most)
        return fault_set(fault, FAULT_USAGE, "%s takes at most %zu value%s: leave the rest out.",
                         option->name, option->most, option->most == 1 ? "" : "s");
    struct fault cause;
    if (!measure_length_parse(value, &readings->length[readings->n], &cause))
        return fault_set(fault, FAULT_USAGE, "%s: %s", option->name, cause.sentence);
    if (measure_length_mm(readings->length[readings->n]) > LONGEST_MM)
        return fault_set(fault, FAULT_USAGE,
                         "%s: '%s' is longer than any throw: give at most 6in, or 150mm.",
                         option->name, value);
    readings->n++;
    return true;
}

/* Values joined by commas. */
static bool add_values(struct request *request, const struct option *option, const char *values,
                       struct fault *fault)
{
    char value[64], name[SHOWN];
    for (;;) {
        size_t length = strcspn(values, ",");
        if (length >= sizeof value)
            return fault_set(fault, FAULT_USAGE,
                             "%s: '%s' is too long for a distance: write 5/16in.", option->name,
                             shown(values, name));
        memcpy(value, values, length);
        value[length] = '\0';
        if (!add_one(request, option, value, fault))
            return false;
        if (values[length] == '\0')
            return true;
        values += length + 1;
    }
}

/* One argument; `option` is the one whose values follow, or NULL. */
static bool read_argument(struct request *request, const struct option **option,
                          const char *argument, struct fault *fault)
{
    char name[SHOWN];
    if (strcmp(argument, "--json") == 0) {
        request->json = true;
        *option = NULL;
        return true;
    }
    if (strncmp(argument, "--", 2) == 0) {
        size_t length = strcspn(argument, "=");
        *option = find_option(argument, length);
        if (*option == NULL)
            return fault_set(fault, FAULT_USAGE,
                             "'%s' is no option of balance: see midthrow balance --help.",
                             shown(argument, name));
        return argument[length] == '\0' ||
               add_values(request, *option, argument + length + 1, fault);
    }
    if (*option == NULL)
        return fault_set(fault, FAULT_USAGE,
                         "'%s' belongs to no throw: write --forward or --back before it.",
                         shown(argument, name));
    return add_values(request, *option, argument, fault);
}

static bool use_default(struct readings *readings, int64_t den)
{
    if (readings->n > 0)
        return false;
    readings->length[0] = measure_length_of(1, den, MEASURE_INCH);
    return true;
}

static bool read_request(int argc, char **argv, struct request *request, struct fault *fault)
{
    bool named[sizeof options / sizeof options[0]] = {true, true}; /* both throws are needed */
    const struct option *option = NULL;
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0) {
            request->help = true;
            return true;
        }
        if (!read_argument(request, &option, argv[i], fault))
            return false;
        if (option != NULL)
            named[option - options] = true;
    }
    for (size_t i = 0; i < sizeof options / sizeof options[0]; i++)
        if (named[i] && readings_of(request, &options[i])->n == 0)
            return fault_set(fault, FAULT_USAGE, "%s needs a value: write %s %s.", options[i].name,
                             options[i].name, options[i].example);
    return true;
}

/* ---- computing --------------------------------------------------------------------------- */

struct answer {
    struct measure_balance balance;
    double offset_U_mm;
    bool own_tolerance, own_resolution; /* not given: common practice */
};

static void in_millimetres(const struct readings *readings, double out[MEASURE_READINGS_MAX])
{
    for (size_t i = 0; i < readings->n; i++)
        out[i] = measure_length_mm(readings->length[i]);
}

static bool compute(struct request *request, struct answer *answer, struct fault *fault)
{
    /* Common practice, no source: even within 1/32 in, a rule in 64ths. */
    answer->own_tolerance = use_default(&request->tolerance, 32);
    answer->own_resolution = use_default(&request->resolution, 64);
    double forward[MEASURE_READINGS_MAX], back[MEASURE_READINGS_MAX];
    in_millimetres(&request->forward, forward);
    in_millimetres(&request->back, back);
    const struct measure_balance_input input = {
        .forward_mm = forward,
        .forward_n = request->forward.n,
        .back_mm = back,
        .back_n = request->back.n,
        .tolerance_mm = measure_length_mm(request->tolerance.length[0]),
        .resolution_mm = measure_length_mm(request->resolution.length[0]),
    };
    if (!measure_balance_of(&input, &answer->balance, fault))
        return false;
    answer->offset_U_mm = measure_coverage_factor(MEASURE_LEVEL, answer->balance.difference_dof) *
                          answer->balance.offset_u_mm;
    return true;
}

/* ---- for people -------------------------------------------------------------------------- */

static const double mm_per_inch = 25.4;

/* Places so that the expanded uncertainty shows two significant digits (JCGM 100, 7.2.6). */
static int places_for(double U)
{
    if (!isfinite(U) || !(U > 0))
        return 3;
    int places = 1 - (int)floor(log10(U));
    return places < 0 ? 0 : places > MM_PLACES_MAX ? MM_PLACES_MAX : places;
}

static void print_with_uncertainty(double mm, double U_mm)
{
    int places_mm = places_for(U_mm), places_in = places_for(U_mm / mm_per_inch);
    printf("%.*f mm (%.*f in)", places_mm, mm, places_in, mm / mm_per_inch);
    if (isfinite(U_mm))
        printf(" ± %.*f mm (%.*f in)", places_mm, U_mm, places_in, U_mm / mm_per_inch);
}

static void print_throw(const char *name, const struct measure_estimate *one)
{
    printf("%-17s", name);
    print_with_uncertainty(one->mean_mm, one->U_mm);
    printf("; %zu reading%s", one->n, one->n == 1 ? "" : "s");
    if (!(one->dof > 0))
        printf(", uncertainty not known: read it at least twice\n");
    else if (isinf(one->dof))
        printf(", k = %.2f, degrees of freedom: infinite\n", one->k);
    else
        printf(", k = %.2f, %.1f degrees of freedom\n", one->k, one->dof);
}

static void print_given(const char *name, const struct readings *readings, bool own)
{
    char text[64];
    measure_length_print(readings->length[0], text, sizeof text);
    printf("%-17s%s, %.3f mm (%s)\n", name, text, measure_length_mm(readings->length[0]),
           own ? "common practice, no source" : "given");
}

static const char *rest_is(double offset_mm)
{
    if (offset_mm > 0)
        return "rest sits too far back";
    return offset_mm < 0 ? "rest sits too far forward" : "rest sits in the middle";
}

static void print_for_people(const struct request *request, const struct answer *answer)
{
    const struct measure_balance *balance = &answer->balance;
    print_throw("forward", &balance->forward);
    print_throw("back", &balance->back);
    printf("%-17s", "offset");
    print_with_uncertainty(balance->offset_mm, answer->offset_U_mm);
    printf("; %s\n", rest_is(balance->offset_mm));
    printf("%-17s%.1f %% forward, %.1f %% back\n", "split", balance->forward_percent,
           balance->back_percent);
    print_given("tolerance", &request->tolerance, answer->own_tolerance);
    print_given("resolution", &request->resolution, answer->own_resolution);
    if (balance->difference_dof > 0)
        printf("%-17s%.1f %%\n", "probability even", 100 * balance->probability_even);
    else
        printf("%-17snot known\n", "probability even");
    printf("%-17s%s\n", "verdict", measure_verdict_name(balance->verdict));
    if (balance->readings_needed < 0)
        printf("%-17sno number will do: read with a finer instrument\n", "still needed");
    else if (balance->readings_needed > 0)
        printf("%-17s%d more reading%s of each throw\n", "still needed", balance->readings_needed,
               balance->readings_needed == 1 ? "" : "s");
    else
        printf("%-17snothing\n", "still needed");
}

/* ---- for programs ------------------------------------------------------------------------ */

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

/* NULL members make json_pack fail as a whole, so one check at the end is enough. */
static json_t *json_of_readings(const struct readings *readings)
{
    json_t *array = json_array();
    char text[64];
    for (size_t i = 0; i < readings->n; i++) {
        measure_length_print(readings->length[i], text, sizeof text);
        if (json_array_append_new(array, json_string(text)) != 0) {
            json_decref(array);
            return NULL;
        }
    }
    return array;
}

static json_t *json_of_throw(const struct measure_estimate *one, const struct readings *readings)
{
    return json_pack("{sI so so so so so so so so so so so}", "n", (json_int_t)one->n, "readings",
                     json_of_readings(readings), "mean_mm", number(one->mean_mm), "mean_in",
                     number(one->mean_mm / mm_per_inch), "s_mm", number(one->s_mm), "u_a_mm",
                     number(one->u_a_mm), "u_b_mm", number(one->u_b_mm), "u_mm", number(one->u_mm),
                     "dof", number(one->dof), "k", number(one->k), "U_mm", number(one->U_mm),
                     "U_in", number(one->U_mm / mm_per_inch));
}

static json_t *json_of_given(const struct readings *readings, bool own)
{
    char text[64];
    measure_length_print(readings->length[0], text, sizeof text);
    return json_pack("{ss so ss}", "value", text, "mm",
                     number(measure_length_mm(readings->length[0])), "source",
                     own ? "common practice, no source" : "given");
}

static json_t *json_of(const struct request *request, const struct answer *answer)
{
    const struct measure_balance *b = &answer->balance;
    return json_pack(
        "{so so so so so so so so so so so so so so so ss si so so}", "forward",
        json_of_throw(&b->forward, &request->forward), "back",
        json_of_throw(&b->back, &request->back), "difference_mm", number(b->difference_mm),
        "difference_u_mm", number(b->difference_u_mm), "difference_dof", number(b->difference_dof),
        "offset_mm", number(b->offset_mm), "offset_in", number(b->offset_mm / mm_per_inch),
        "offset_u_mm", number(b->offset_u_mm), "offset_U_mm", number(answer->offset_U_mm),
        "offset_U_in", number(answer->offset_U_mm / mm_per_inch), "sum_mm", number(b->sum_mm),
        "sum_u_mm", number(b->sum_u_mm), "forward_percent", number(b->forward_percent),
        "back_percent", number(b->back_percent), "probability_even", number(b->probability_even),
        "verdict", measure_verdict_name(b->verdict), "readings_needed", b->readings_needed,
        "tolerance", json_of_given(&request->tolerance, answer->own_tolerance), "resolution",
        json_of_given(&request->resolution, answer->own_resolution));
}

static bool print_json(const struct request *request, const struct answer *answer,
                       struct fault *fault)
{
    json_t *json = json_of(request, answer);
    if (json == NULL)
        return fault_set(fault, FAULT_FAILED,
                         "not enough memory for the result: close other programs and try again.");
    json_dumpf(json, stdout,
               JSON_INDENT(2) | JSON_REAL_PRECISION(10)); /* checked by command_printed */
    json_decref(json);
    putchar('\n');
    return true;
}

int command_balance(int argc, char **argv)
{
    struct request request = {0};
    struct answer answer = {0};
    struct fault fault = {0};
    if (!read_request(argc, argv, &request, &fault))
        return command_fail(&fault);
    if (request.help) {
        fputs(usage, stdout);
        return command_printed(&fault) ? FAULT_NONE : command_fail(&fault);
    }
    if (!compute(&request, &answer, &fault))
        return command_fail(&fault);
    if (!request.json)
        print_for_people(&request, &answer);
    else if (!print_json(&request, &answer, &fault))
        return command_fail(&fault);
    return command_printed(&fault) ? FAULT_NONE : command_fail(&fault);
}
