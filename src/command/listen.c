/* midthrow listen: recognise recordings, one line of answer a file, in the order given. */
#include "command/command.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "audio/audio.h"
#include "base/plain.h"
#include "command/data.h"
#include "command/voices.h"
#include "language/language.h"
#include "speech/recogniser.h"

static const char HELP[] =
    "usage: midthrow listen --grammar NAME [--json] [--person NAME] FILE...\n"
    "       midthrow listen --grammars [--json]\n"
    "Recognises recordings, without a job: a line of answer a file, in the order given.\n"
    "\n"
    "  --grammar NAME  what is listened for\n"
    "  --grammars      the names there are\n"
    "  --json          a JSON object a line\n"
    "  --person NAME   who speaks: a voice learned by 'midthrow enrol'\n"
    "  --data DIR      where such voices are kept; else the XDG data directory\n";

static const char USAGE[] =
    "write: midthrow listen --grammar NAME [--json] FILE.wav..., or midthrow "
    "listen --grammars.";

struct request {
    const char *grammar;
    const char *person, *data;
    bool json;
    bool list;
    bool help;
    const char **files;
    int file_count;
};

static bool wrong(struct fault *fault, const char *what, const char *which)
{
    return fault_set(fault, FAULT_USAGE, "%s%s: %s", what, which, USAGE);
}

/* Sorts argv into options and files; request->files points into argv. */
static bool read_arguments(int argc, char **argv, struct request *request, struct fault *fault)
{
    bool only_files = false;
    for (int i = 1; i < argc; i++) {
        const char *word = argv[i];
        if (only_files || word[0] != '-' || word[1] == '\0')
            request->files[request->file_count++] = word;
        else if (strcmp(word, "--") == 0)
            only_files = true;
        else if (strcmp(word, "--json") == 0)
            request->json = true;
        else if (strcmp(word, "--help") == 0)
            request->help = true;
        else if (strcmp(word, "--grammars") == 0)
            request->list = true;
        else if (strcmp(word, "--person") == 0 && i + 1 < argc)
            request->person = argv[++i];
        else if (strcmp(word, "--data") == 0 && i + 1 < argc)
            request->data = argv[++i];
        else if (strcmp(word, "--grammar") == 0 && i + 1 < argc)
            request->grammar = argv[++i];
        else if (strncmp(word, "--grammar=", 10) == 0)
            request->grammar = word + 10;
        else if (strcmp(word, "--grammar") == 0 || strcmp(word, "--person") == 0 ||
                 strcmp(word, "--data") == 0)
            return wrong(fault, word, " needs a name");
        else
            return wrong(fault, "listen knows no option ", word);
    }
    if (request->list || request->help)
        return true;
    if (request->grammar == NULL)
        return wrong(fault, "no grammar was named", "");
    enum language_type type;
    if (!language_grammar_type(request->grammar, &type))
        return fault_set(fault, FAULT_USAGE,
                         "there is no grammar '%.60s': midthrow listen --grammars lists them.",
                         request->grammar);
    return request->file_count > 0 || wrong(fault, "no file was named", "");
}

static int list_grammars(bool json)
{
    json_t *names = json_array();
    for (size_t i = 0; i < language_grammar_count(); i++) {
        if (json)
            json_array_append_new(names, json_string(language_grammar_name(i)));
        else
            puts(language_grammar_name(i));
    }
    if (json) {
        json_dumpf(names, stdout, JSON_INDENT(0));
        putchar('\n');
    }
    json_decref(names);
    return 0;
}

static const char *unit_name(enum measure_unit unit)
{
    static const char *const names[] = {
        [MEASURE_INCH] = "inch", [MEASURE_THOU] = "thou", [MEASURE_MM] = "mm"};
    return names[unit];
}

static json_t *choices_value(const char *grammar, unsigned choices)
{
    json_t *list = json_array();
    for (size_t c = 0; c < language_choice_count(grammar); c++)
        if ((choices >> c & 1u) != 0)
            json_array_append_new(list, json_string(language_choice_words(grammar, (int)c)));
    return list;
}

static json_t *turn_value(const char *grammar, const struct language_value *value)
{
    const struct language_turn *turn = &value->as.turn;
    char words[LANGUAGE_WORDS];
    if (!turn->as_told && !turn->not_turned && turn->denominator != 0)
        return json_real((double)turn->numerator / turn->denominator);
    return language_say(grammar, value, words, sizeof words) ? json_string(words) : json_null();
}

/* What the words stand for, as JSON has it. */
static json_t *value_json(const char *grammar, const struct language_value *value)
{
    switch (value->type) {
    case LANGUAGE_COMMAND:
        return json_string(language_command_words(value->as.command));
    case LANGUAGE_DONT_KNOW:
        return json_string("don't know");
    case LANGUAGE_SKIP:
        return json_string("skip");
    case LANGUAGE_YESNO:
        return json_boolean(value->as.yes);
    case LANGUAGE_NUMBER:
        return json_integer((json_int_t)value->as.number);
    case LANGUAGE_DIGITS:
        return json_string(value->as.digits);
    case LANGUAGE_DISTANCE:
        return json_real((double)value->as.length.num / (double)value->as.length.den);
    case LANGUAGE_TURN:
        return turn_value(grammar, value);
    case LANGUAGE_AMOUNT:
        return json_real((double)value->as.amount.num / (double)value->as.amount.den);
    case LANGUAGE_CHOICE:
        return json_string(language_choice_words(grammar, value->as.choice));
    case LANGUAGE_CHOICES:
        return choices_value(grammar, value->as.choices);
    case LANGUAGE_PHRASE:
        return json_string(language_phrase_words(value->as.phrase));
    }
    return json_null();
}

static json_t *unit_json(const struct language_value *value)
{
    static const char *const amounts[LANGUAGE_UNIT_COUNT] = {"turns", "ml",    "fl oz", "",
                                                             "Nm",    "ft lb", "in lb"};
    if (value->type == LANGUAGE_AMOUNT)
        return json_string(amounts[value->as.amount.unit]);
    if (value->type == LANGUAGE_DISTANCE)
        return json_string(unit_name(value->as.length.unit));
    if (value->type == LANGUAGE_TURN && !value->as.turn.as_told && !value->as.turn.not_turned)
        return json_string(value->as.turn.clockwise ? "turn clockwise" : "turn counter clockwise");
    return json_null();
}

static double rounded(double value, double steps)
{
    return round(value * steps) / steps;
}

/* One object a line. `value` is NULL when the words stand for nothing, or were not believed. */
static void print_json(const struct request *request, const char *file,
                       const struct speech_heard *heard, const struct language_value *value)
{
    enum language_type type = LANGUAGE_COMMAND;
    language_grammar_type(request->grammar, &type);
    json_t *line = json_object();
    json_t *name = json_string(file); /* NULL when the name is no UTF-8 */
    json_object_set_new(line, "file", name != NULL ? name : json_string("?"));
    json_object_set_new(line, "words", json_string(heard->words));
    json_object_set_new(line, "value", value ? value_json(request->grammar, value) : json_null());
    json_object_set_new(line, "unit", value ? unit_json(value) : json_null());
    if (type == LANGUAGE_DISTANCE)
        json_object_set_new(line, "mm",
                            value != NULL && value->type == LANGUAGE_DISTANCE
                                ? json_real(measure_length_mm(value->as.length))
                                : json_null());
    json_object_set_new(line, "verdict", json_string(speech_verdict_name(heard->verdict)));
    if (heard->verdict == SPEECH_UNSURE && heard->other[0] != '\0')
        json_object_set_new(line, "other", json_string(heard->other));
    json_object_set_new(line, "score", json_real(rounded(heard->score, 1e4)));
    json_object_set_new(line, "decode_ms", json_real(rounded(heard->decode_ms, 1e2)));
    json_object_set_new(line, "audio_ms", json_real(rounded(heard->audio_ms, 1e2)));
    json_dumpf(line, stdout, JSON_COMPACT | JSON_REAL_PRECISION(12));
    putchar('\n');
    json_decref(line);
}

static void print_plain(const struct request *request, const char *file,
                        const struct speech_heard *heard, const struct language_value *value)
{
    char said[LANGUAGE_WORDS] = "";
    if (value != NULL && value->type == LANGUAGE_DISTANCE)
        measure_length_print(value->as.length, said, sizeof said);
    else if (value != NULL)
        language_say(request->grammar, value, said, sizeof said);
    plain_print(stdout, file);
    printf(": %s", speech_verdict_name(heard->verdict));
    if (heard->words[0] != '\0')
        printf(", \"%s\"", heard->words);
    if (value != NULL)
        printf(" = %s", said);
    if (value != NULL && value->type == LANGUAGE_DISTANCE)
        printf(" = %.4g mm", measure_length_mm(value->as.length));
    if (heard->verdict == SPEECH_UNSURE && heard->other[0] != '\0')
        printf(", or \"%s\"", heard->other);
    printf(" (%.0f %%, %.0f ms for %.0f ms)\n", heard->score * 100, heard->decode_ms,
           heard->audio_ms);
}

static bool listen_to(struct speech_recogniser *ear, const struct request *request,
                      const char *file, struct fault *fault)
{
    int16_t *pcm = NULL;
    size_t frames = 0;
    struct speech_heard heard;
    if (!audio_read_whole(file, SPEECH_RATE_HZ, &pcm, &frames, fault))
        return false;
    bool done = speech_recognise(ear, request->grammar, pcm, frames, &heard, fault);
    free(pcm);
    if (!done)
        return false;
    struct language_value value;
    bool means = heard.verdict != SPEECH_REJECTED &&
                 language_parse(request->grammar, heard.words, &value, NULL) == LANGUAGE_OK;
    (request->json ? print_json : print_plain)(request, file, &heard, means ? &value : NULL);
    return true;
}

/* Every file gets its line or its error; one bad file does not stop the others. */
static int listen_to_all(struct speech_recogniser *ear, const struct request *request)
{
    int code = 0;
    for (int i = 0; i < request->file_count; i++) {
        struct fault fault = {0};
        if (!listen_to(ear, request, request->files[i], &fault)) {
            int why = command_fail(&fault);
            code = code == 0 || code == why ? why : FAULT_FAILED;
        }
        if (fflush(stdout) != 0) {
            fault_set(&fault, FAULT_FAILED, "could not write the answers: free some space.");
            return command_fail(&fault);
        }
    }
    return code;
}

/* Whoever was named, NULL when nobody was. */
static bool find_person(const struct request *request, struct speech_phonetic **person,
                        struct fault *fault)
{
    const struct data_options options = {.directory = request->data};
    char data[4096];
    *person = NULL;
    return request->person == NULL ||
           (data_directory(&options, data, sizeof data, fault) &&
            (*person = voices_load(data, request->person, fault)) != NULL);
}

static int listen_with(const struct request *request, struct fault *fault)
{
    char grammars[512];
    struct speech_phonetic *person = NULL;
    if (!command_shared("grammars", grammars, sizeof grammars, fault) ||
        !find_person(request, &person, fault))
        return command_fail(fault);
    request->files[request->file_count] = grammars; /* there is room for one more than argc */
    command_confine_reading(request->files, (size_t)request->file_count + 1);
    struct speech_config config = {.grammar_dir = grammars,
                                   .same_meaning = language_same_meaning,
                                   .is_command = language_is_command};
    struct speech_recogniser *ear = speech_recogniser_create(&config, fault);
    if (ear != NULL)
        speech_recogniser_know(ear, person);
    int code = ear != NULL ? listen_to_all(ear, request) : command_fail(fault);
    speech_recogniser_destroy(ear);
    speech_phonetic_close(person);
    return code;
}

int command_listen(int argc, char **argv)
{
    struct fault fault = {0};
    struct request request = {.files = calloc((size_t)argc + 1, sizeof(char *))};
    int code;
    if (request.files == NULL) {
        fault_set(&fault, FAULT_FAILED, "out of memory: close something and try again.");
        return command_fail(&fault);
    }
    if (!read_arguments(argc, argv, &request, &fault))
        code = command_fail(&fault);
    else if (request.help)
        code = fputs(HELP, stdout) < 0;
    else if (request.list)
        code = list_grammars(request.json);
    else
        code = listen_with(&request, &fault);
    free(request.files);
    return code;
}
