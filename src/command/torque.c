/*
 * midthrow torque: what to set a torque wrench to that has an adapter on its drive.
 *
 * --json prints one object:
 *   wanted, setting     each with newton_metres, pound_feet, pound_inches
 *   setting_u, setting_U   the same three: standard and expanded (95 %) uncertainty
 *   factor              setting/wanted
 *   wrench_mm, adapter_mm, angle_degrees, lever_mm     lever: L + E cos angle
 *   given               the torque as it was written
 * The formula and its sources are told in measure/torque.h.
 */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include <jansson.h>

#include "base/text.h"
#include "command/command.h"
#include "measure/length.h"
#include "measure/torque.h"
#include "measure/uncertainty.h"

static const char usage[] =
    "usage: midthrow torque --wanted TORQUE --wrench LENGTH --adapter LENGTH [--angle DEGREES]\n"
    "                       [--json]\n"
    "\n"
    "What to set a torque wrench to when an adapter moves the nut off its drive:\n"
    "setting = wanted x wrench / (wrench + adapter x cos angle)\n"
    "\n"
    "  --wanted TORQUE    at the nut, from the service manual: 25Nm, 18ftlb, 216inlb\n"
    "  --wrench LENGTH    from where the hand pulls to the centre of the drive: 300mm, 12in\n"
    "  --adapter LENGTH   from the centre of the drive to the centre of the nut: 50mm, 1-1/2in\n"
    "  --angle DEGREES    between adapter and wrench: 0 straight on (if not given), 90 across,\n"
    "                     180 back under the handle\n"
    "  --json             print one JSON object\n"
    "\n"
    "The uncertainty takes the hand to be within 5 mm, the adapter's length within 0.5 mm and the\n"
    "angle within 2 degrees, one sigma each (judgement, no source). The wrench's own comes on "
    "top.\n"
    "\n"
    "  midthrow torque --wanted 25Nm --wrench 300mm --adapter 50mm\n";

/* Judgement, no source: one sigma. */
static const double HAND_MM = 5;
static const double ADAPTER_MM = 0.5;
static const double ANGLE_DEGREES = 2;

/* Beyond these a unit or a point was mistaken. */
static const double LONGEST_MM = 2000;
static const double MOST_NEWTON_METRES = 1000;

enum { WRITTEN = 64 };

struct request {
    char wanted[WRITTEN], wrench[WRITTEN], adapter[WRITTEN], angle[WRITTEN]; /* as written */
    double newton_metres, wrench_mm, adapter_mm, angle_degrees;
    enum measure_torque_unit unit; /* of `wanted` */
    bool json, help;
};

/* ---- reading the command line ------------------------------------------------------------ */

static const struct option {
    const char *name;
    size_t offset; /* of what was written in struct request */
    bool needed;
    const char *example;
} options[] = {
    {"--wanted", offsetof(struct request, wanted), true, "25Nm"},
    {"--wrench", offsetof(struct request, wrench), true, "300mm"},
    {"--adapter", offsetof(struct request, adapter), true, "50mm"},
    {"--angle", offsetof(struct request, angle), false, "90"},
};
enum { OPTIONS = sizeof options / sizeof options[0] };

static char *written_of(struct request *request, const struct option *option)
{
    return (char *)request + option->offset;
}

/* An argument fit for a sentence: cut short, nothing but printable ASCII. */
static const char *shown(const char *argument, char out[WRITTEN])
{
    size_t n = 0;
    for (; n < WRITTEN - 1 && argument[n] != '\0'; n++)
        out[n] = argument[n] >= ' ' && argument[n] <= '~' ? argument[n] : '?';
    out[n] = '\0';
    return out;
}

static const struct option *find_option(const char *argument)
{
    size_t length = strcspn(argument, "=");
    for (size_t i = 0; i < OPTIONS; i++)
        if (strlen(options[i].name) == length && strncmp(options[i].name, argument, length) == 0)
            return &options[i];
    return NULL;
}

static bool keep_value(struct request *request, const struct option *option, const char *value,
                       struct fault *fault)
{
    char *written = written_of(request, option), name[WRITTEN];
    if (value == NULL || value[0] == '\0' || strncmp(value, "--", 2) == 0)
        return fault_set(fault, FAULT_USAGE, "%s needs a value: write %s %s.", option->name,
                         option->name, option->example);
    if (written[0] != '\0')
        return fault_set(fault, FAULT_USAGE, "%s is given twice: leave one out.", option->name);
    if (strlen(value) >= WRITTEN)
        return fault_set(fault, FAULT_USAGE, "%s: '%s' is too long: write %s.", option->name,
                         shown(value, name), option->example);
    return text_copy(written, WRITTEN, value);
}

static bool read_arguments(int argc, char **argv, struct request *request, struct fault *fault)
{
    char name[WRITTEN];
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0) {
            request->help = true;
            return true;
        }
        if (strcmp(argv[i], "--json") == 0) {
            request->json = true;
            continue;
        }
        const struct option *option = find_option(argv[i]);
        if (option == NULL)
            return fault_set(fault, FAULT_USAGE,
                             "'%s' is no option of torque: see midthrow torque --help.",
                             shown(argv[i], name));
        const char *value = strchr(argv[i], '=');
        value = value != NULL ? value + 1 : i + 1 < argc ? argv[++i] : NULL;
        if (!keep_value(request, option, value, fault))
            return false;
    }
    for (size_t i = 0; i < OPTIONS; i++)
        if (options[i].needed && written_of(request, &options[i])[0] == '\0')
            return keep_value(request, &options[i], NULL, fault);
    return true;
}

static bool read_wanted(struct request *request, struct fault *fault)
{
    struct fault cause;
    double value = 0;
    if (!measure_torque_parse(request->wanted, &value, &request->unit, &cause))
        return fault_set(fault, FAULT_USAGE, "--wanted: %s", cause.sentence);
    request->newton_metres = measure_torque_in(value, request->unit, MEASURE_NEWTON_METRE);
    if (request->newton_metres > MOST_NEWTON_METRES)
        return fault_set(fault, FAULT_USAGE,
                         "--wanted: '%s' is more than %g N m: look at the unit again.",
                         request->wanted, MOST_NEWTON_METRES);
    return true;
}

static bool read_length(const struct option *option, const char *written, double *mm,
                        struct fault *fault)
{
    struct fault cause;
    struct measure_length length;
    if (!measure_length_parse(written, &length, &cause))
        return fault_set(fault, FAULT_USAGE, "%s: %s", option->name, cause.sentence);
    *mm = measure_length_mm(length);
    if (*mm > LONGEST_MM)
        return fault_set(fault, FAULT_USAGE, "%s: '%s' is longer than 2 m: look at the unit again.",
                         option->name, written);
    return true;
}

/* `90`, `22.5`, `-30`: at most three digits before the point and three after. */
static bool read_angle(const char *written, double *degrees, struct fault *fault)
{
    const char *digits = written[0] == '-' ? written + 1 : written;
    size_t whole = strspn(digits, "0123456789");
    const char *rest = digits + whole;
    size_t part = *rest == '.' ? strspn(rest + 1, "0123456789") : 0;
    const char *end = *rest == '.' ? rest + 1 + part : rest;
    if (written[0] == '\0')
        return true; /* not given: straight on */
    double value = 0, scale = 1;
    bool plain = *end == '\0' && whole + part > 0 && whole <= 3 && part <= 3;
    for (const char *at = digits; plain && at < end; at++) {
        if (*at == '.')
            continue;
        value = 10 * value + (*at - '0');
        scale *= at > rest ? 10 : 1;
    }
    value /= scale;
    char name[WRITTEN];
    if (!plain || value > 180)
        return fault_set(fault, FAULT_USAGE,
                         "--angle: '%s' is no angle from -180 to 180 degrees: write 90 for an "
                         "adapter across the wrench.",
                         shown(written, name));
    *degrees = digits == written ? value : -value;
    return true;
}

static bool read_request(int argc, char **argv, struct request *request, struct fault *fault)
{
    if (!read_arguments(argc, argv, request, fault))
        return false;
    if (request->help)
        return true;
    if (!read_wanted(request, fault) ||
        !read_length(&options[1], request->wrench, &request->wrench_mm, fault) ||
        !read_length(&options[2], request->adapter, &request->adapter_mm, fault) ||
        !read_angle(request->angle, &request->angle_degrees, fault))
        return false;
    if (request->adapter_mm > request->wrench_mm)
        return fault_set(fault, FAULT_USAGE,
                         "the adapter is longer than the wrench: --wrench is grip to drive, "
                         "--adapter drive to nut; look whether they are swapped.");
    return true;
}

static bool compute(const struct request *request, struct measure_torque_result *result,
                    struct fault *fault)
{
    const struct measure_torque torque = {
        .wanted = request->newton_metres,
        .wrench_mm = request->wrench_mm,
        .adapter_mm = request->adapter_mm,
        .angle_degrees = request->angle_degrees,
        .wrench_u_mm = HAND_MM,
        .adapter_u_mm = ADAPTER_MM,
        .angle_u_degrees = ANGLE_DEGREES,
    };
    return measure_torque_of(&torque, result, fault);
}

static double expanded(double u)
{
    return measure_coverage_factor(MEASURE_LEVEL, HUGE_VAL) * u;
}

/* ---- for people -------------------------------------------------------------------------- */

enum { UNITS = MEASURE_POUND_INCH + 1 };

/* Four digits, as the finest wrench can be set. */
static int places_for(double value)
{
    int places = value > 0 ? 3 - (int)floor(log10(value)) : 0;
    return places < 0 ? 0 : places > 6 ? 6 : places;
}

/* In the unit asked in first, the others in brackets. */
static void print_torque(const char *name, double newton_metres, enum measure_torque_unit first)
{
    double value = measure_torque_in(newton_metres, MEASURE_NEWTON_METRE, first);
    printf("%-16s%.*f %s", name, places_for(value), value, measure_torque_unit_name(first));
    const char *before = " (";
    for (int i = 0; i < UNITS; i++) {
        enum measure_torque_unit unit = (enum measure_torque_unit)i;
        if (unit == first)
            continue;
        value = measure_torque_in(newton_metres, MEASURE_NEWTON_METRE, unit);
        printf("%s%.*f %s", before, places_for(value), value, measure_torque_unit_name(unit));
        before = ", ";
    }
    puts(")");
}

static void print_uncertainty(double newton_metres, enum measure_torque_unit unit)
{
    double value = measure_torque_in(newton_metres, MEASURE_NEWTON_METRE, unit);
    int places = value > 0 ? 1 - (int)floor(log10(value)) : 0; /* JCGM 100, 7.2.6: two digits */
    places = places < 0 ? 0 : places > 6 ? 6 : places;
    printf("%-16s%.*f %s, 95 %%: where the hand pulls, adapter, angle\n", "give or take", places,
           value, measure_torque_unit_name(unit));
}

static void print_for_people(const struct request *request,
                             const struct measure_torque_result *result)
{
    print_torque("wanted", request->newton_metres, request->unit);
    print_torque("set the wrench", result->setting, request->unit);
    print_uncertainty(expanded(result->setting_u), request->unit);
    printf("%-16s%.4f = %g mm / %.4g mm\n", "factor", result->factor, request->wrench_mm,
           request->wrench_mm / result->factor);
}

/* ---- for programs ------------------------------------------------------------------------ */

static json_t *json_of_torque(double newton_metres)
{
    return json_pack("{sf sf sf}", "newton_metres", newton_metres, "pound_feet",
                     measure_torque_in(newton_metres, MEASURE_NEWTON_METRE, MEASURE_POUND_FOOT),
                     "pound_inches",
                     measure_torque_in(newton_metres, MEASURE_NEWTON_METRE, MEASURE_POUND_INCH));
}

static bool print_json(const struct request *request, const struct measure_torque_result *result,
                       struct fault *fault)
{
    json_t *json = json_pack(
        "{ss so so so so sf sf sf sf sf}", "given", request->wanted, "wanted",
        json_of_torque(request->newton_metres), "setting", json_of_torque(result->setting),
        "setting_u", json_of_torque(result->setting_u), "setting_U",
        json_of_torque(expanded(result->setting_u)), "factor", result->factor, "wrench_mm",
        request->wrench_mm, "adapter_mm", request->adapter_mm, "angle_degrees",
        request->angle_degrees, "lever_mm", request->wrench_mm / result->factor);
    if (json == NULL)
        return fault_set(fault, FAULT_FAILED,
                         "not enough memory for the result: close other programs and try again.");
    json_dumpf(json, stdout,
               JSON_INDENT(2) | JSON_REAL_PRECISION(10)); /* checked by command_printed */
    json_decref(json);
    putchar('\n');
    return true;
}

int command_torque(int argc, char **argv)
{
    struct request request = {0};
    struct measure_torque_result result;
    struct fault fault = {0};
    if (!read_request(argc, argv, &request, &fault))
        return command_fail(&fault);
    if (request.help) {
        fputs(usage, stdout);
        return command_printed(&fault) ? FAULT_NONE : command_fail(&fault);
    }
    if (!compute(&request, &result, &fault))
        return command_fail(&fault);
    if (!request.json)
        print_for_people(&request, &result);
    else if (!print_json(&request, &result, &fault))
        return command_fail(&fault);
    return command_printed(&fault) ? FAULT_NONE : command_fail(&fault);
}
